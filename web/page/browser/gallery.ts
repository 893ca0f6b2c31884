// Writes a picture of every view, in both themes and both widths, and a page that lists them: npm run gallery -- DIR.

import { mkdirSync, writeFileSync } from 'node:fs'
import { join, resolve } from 'node:path'
import { build } from './binary'
import { desk, launch, Pages, phone, Stage } from './stage'
import { show, views } from './views'

const sizes = { wide: desk, phone: { ...phone, touch: false } } // as a desktop's narrow window, in pixels of its own
const schemes = ['light', 'dark'] as const
const escaped = (text: string) => text.replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`)

export async function gallery(folder: string): Promise<void> {
  mkdirSync(folder, { recursive: true })
  const { command, end } = build()
  const pages = new Pages(await launch())
  const complaints: string[] = []
  const rows: string[] = []
  try {
    for (const view of views) {
      const cells: string[] = []
      for (const [size, look] of Object.entries(sizes)) {
        const stage = new Stage(command, pages)
        try {
          const v = await show(stage, view, look)
          await v.page.mouse.move(0, 0)
          for (const colorScheme of schemes) {
            const file = `${view.name}-${size}-${colorScheme}.png`
            await v.page.emulateMedia({ colorScheme })
            await v.settled()
            await v.page.screenshot({ path: join(folder, file), fullPage: true })
            cells.push(`<td><a href="${file}"><img src="${file}" alt="${view.name}, ${size}, ${colorScheme}" loading="lazy"></a></td>`)
          }
        } finally {
          await stage.end()
        }
        complaints.push(...stage.unexpected().map((text) => `${view.name}, ${size}: ${text}`))
      }
      rows.push(`<tr><th>${view.name}<br><small>${escaped(view.about)}</small></th>${cells.join('')}</tr>`)
      console.log(view.name)
    }
  } finally {
    await pages.close()
    end()
  }
  const heads = Object.keys(sizes).flatMap((size) => schemes.map((scheme) => `<th>${size}, ${scheme}</th>`))
  const style = 'body{font:14px sans-serif}td{vertical-align:top}img{max-width:340px;max-height:420px;border:1px solid #ccc}th{text-align:left;max-width:14em}'
  writeFileSync(
    join(folder, 'index.html'),
    `<!doctype html><html lang="en"><meta charset="utf-8"><title>Knobwise: every view</title><style>${style}</style><table><tr><th></th>${heads.join('')}</tr>${rows.join('\n')}</table></html>\n`,
  )
  console.log(`${views.length} views in ${join(folder, 'index.html')}`)
  if (complaints.length > 0) throw new Error('complaints of the page:\n' + complaints.join('\n'))
}

/** The folder is the command's one argument, from where npm was called. */
export function folderOf(args: string[]): string {
  if (args.length !== 1) throw new Error('name one folder: npm run gallery -- DIR')
  return resolve(process.env.INIT_CWD ?? '.', args[0])
}
