// Every view, wide and narrow, light and dark: nothing that axe finds, and nothing wider than the window.

import axe from 'axe-core'
import { desk, phone, type Visit } from './stage'
import { expect, it } from './test'
import { show, views } from './views'

declare global {
  interface Window {
    axe: typeof axe
  }
}

/** What axe finds in the page as it stands, and how many rules had something to look at. */
function examine(v: Visit, rules: string[] | undefined): Promise<{ found: string[]; looked: number }> {
  return v.page.evaluate(async (rules) => {
    const { violations, passes } = await window.axe.run(document, { resultTypes: ['violations'], ...(rules ? { runOnly: rules } : {}) })
    return { found: violations.map((x) => `${x.id}: ${x.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`), looked: passes.length + violations.length }
  }, rules)
}

/** The rules whose answer depends on colours; all others are the same in both themes. */
const colours = ['color-contrast', 'link-in-text-block']

for (const view of views)
  it(`axe finds nothing in the view ${view.name}: ${view.about}`, async ({ stage }) => {
    const v = await show(stage, view, {})
    await v.page.evaluate(axe.source)
    const found: string[] = []
    for (const size of [desk, phone])
      for (const colorScheme of ['light', 'dark'] as const) {
        await v.page.setViewportSize(size)
        await v.page.emulateMedia({ colorScheme })
        await v.settled()
        const seen = await examine(v, colorScheme === 'dark' ? colours : undefined)
        expect(seen.looked, 'rules that had something to look at').toBeGreaterThan(colorScheme === 'dark' ? 0 : 10)
        const where = `${size.width} wide, ${colorScheme}`
        found.push(...seen.found.map((text) => `${where}: ${text}`))
        const beyond = await v.page.evaluate(() => document.documentElement.scrollWidth - innerWidth)
        if (beyond > 0) found.push(`${where}: ${beyond} pixels wider than the window`)
      }
    expect(found).toEqual([])
  })
