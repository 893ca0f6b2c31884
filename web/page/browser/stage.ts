// What a test stands on: a folder of its own, the command that serves it, and a browser's page on it. Everything that a
// stage opens it closes again, and it keeps every complaint of the pages for the test to look at.

import { execFileSync, spawn, type ChildProcess } from 'node:child_process'
import { once } from 'node:events'
import { mkdirSync, mkdtempSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { createInterface } from 'node:readline'
import { chromium, type Browser, type Locator, type Page } from 'playwright-core'
import type { SweepReply, SweepRequest } from '../src/api'
import { watch, type Seen } from './seen'

declare global {
  interface Window {
    seen: Seen
  }
}

/** How a page is looked at. */
export interface Look {
  width: number
  height: number
  scheme: 'light' | 'dark'
  touch: boolean
}
export const desk: Look = { width: 1280, height: 900, scheme: 'light', touch: false }
export const phone: Look = { width: 390, height: 844, scheme: 'light', touch: true }

/** Debian's Chromium, or what CHROMIUM names. */
export function launch(): Promise<Browser> {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  })
}

/** The pages of one browser. A new page takes half a second, so that one that a test has left is given to the next. */
export class Pages {
  #free = new Map<string, Page[]>()
  #listener = new Map<Page, (complaint: string) => void>()

  constructor(readonly browser: Browser) {}

  async take(look: Look, complain: (text: string) => void): Promise<Page> {
    const key = JSON.stringify(look)
    const page = this.#free.get(key)?.pop() ?? (await this.#make(look))
    this.#listener.set(page, complain)
    return page
  }

  /** Takes a page back, with nothing on it. */
  async give(look: Look, page: Page): Promise<void> {
    await page.unrouteAll({ behavior: 'ignoreErrors' })
    await page.goto('about:blank')
    await page.emulateMedia({ colorScheme: look.scheme })
    await page.setViewportSize(look)
    this.#listener.delete(page)
    const key = JSON.stringify(look)
    this.#free.set(key, [...(this.#free.get(key) ?? []), page])
  }

  #shared: Promise<Served> | null = null

  shared(command: string): Promise<Served> {
    return (this.#shared ??= (async () => {
      const served = new Served(command, undefined)
      await served.start()
      return served
    })())
  }

  async close(): Promise<void> {
    await (await this.#shared)?.kill()
    await this.browser.close()
  }

  async #make({ width, height, scheme, touch }: Look): Promise<Page> {
    const context = await this.browser.newContext({
      viewport: { width, height },
      colorScheme: scheme,
      hasTouch: touch,
      isMobile: touch,
      acceptDownloads: true,
    })
    await context.addInitScript(watch)
    const page = await context.newPage()
    page.setDefaultTimeout(8_000)
    const complain = (text: string) => this.#listener.get(page)?.(text)
    page.on('console', (m) => {
      if (m.type() === 'error' || m.type() === 'warning') complain(`${m.type()}: ${m.text()}`)
    })
    page.on('pageerror', (e) => complain(`uncaught: ${e.message}`))
    return page
  }
}

export class Stage {
  #ends: (() => Promise<void> | void)[] = []
  #complaints: string[] = []
  #expected: RegExp[] = []

  constructor(
    readonly command: string,
    readonly pages: Pages,
  ) {}

  /** An empty folder. */
  empty(): Folder {
    const above = mkdtempSync(join(tmpdir(), 'knobwise-bench-'))
    this.#ends.push(() => rmSync(above, { recursive: true, force: true }))
    const path = join(above, 'bench')
    mkdirSync(path)
    return new Folder(path, this.command)
  }

  /** The demonstration bench, as `knobwise demo` writes it. */
  demo(): Folder {
    const folder = this.empty()
    rmSync(folder.path, { recursive: true })
    execFileSync(this.command, ['demo', folder.path], { stdio: 'ignore' })
    return folder
  }

  /** The demonstration bench with the files of a folder beside it. */
  with(files: Record<string, string>): Folder {
    const folder = this.demo()
    for (const [name, text] of Object.entries(files)) folder.write(name, text)
    return folder
  }

  /** `knobwise serve` over a folder; without one, over the demonstration in memory. */
  async serve(folder?: Folder): Promise<Served> {
    const served = new Served(this.command, folder)
    this.#ends.push(() => served.kill())
    await served.start()
    return served
  }

  /**
   * `knobwise serve` over the demonstration bench, one for all tests of a worker: for those that change no file. The browser
   * keeps the script that it has from there.
   */
  shared(): Promise<Served> {
    return this.pages.shared(this.command)
  }

  /** Opens an address of a server, and waits until the page has its numbers. */
  async open(served: Served, query = '', partial: Partial<Look> = {}): Promise<Visit> {
    const look = { ...desk, ...partial }
    const page = await this.pages.take(look, (text) => this.#complaints.push(text))
    this.#ends.push(() => this.pages.give(look, page))
    const visit = new Visit(page, served)
    await page.goto(served.url + query)
    await visit.settled()
    return visit
  }

  /** Chromium writes refused answers and broken connections to the console; a test that brings them about says so. */
  expect(...complaints: RegExp[]): void {
    this.#expected.push(...complaints)
  }

  /** Every complaint of a page's console or its content policy that the test did not announce. */
  unexpected(): string[] {
    return this.#complaints.filter((text) => !this.#expected.some((e) => e.test(text)))
  }

  async end(): Promise<void> {
    for (const end of this.#ends.reverse()) await end()
    this.#ends = []
  }
}

/** A folder of bench files on disk. */
export class Folder {
  constructor(
    readonly path: string,
    readonly command: string,
  ) {}

  read(name: string): string {
    return readFileSync(join(this.path, name), 'utf8')
  }

  /** Writes a file as an editor does: whole, under another name first. */
  write(name: string, text: string): void {
    writeFileSync(join(this.path, name + '.new'), text)
    renameSync(join(this.path, name + '.new'), join(this.path, name))
  }

  /** Changes one place of a file, and fails where it is not there. */
  edit(name: string, from: string, to: string): string {
    const before = this.read(name)
    if (!before.includes(from)) throw new Error(`${name} has no ${JSON.stringify(from)}`)
    const after = before.replace(from, to)
    this.write(name, after)
    return after
  }

  remove(name: string): void {
    rmSync(join(this.path, name))
  }

  /** Copies a file, whole at once: half of one is a mistake that the page would tell. */
  copy(from: Folder, name: string): void {
    this.write(name, from.read(name))
  }

  /** What the command itself tells about these arguments, run in the folder: its standard error. */
  told(...args: string[]): string {
    try {
      execFileSync(this.command, args, { cwd: this.path, stdio: ['ignore', 'ignore', 'pipe'], encoding: 'utf8' })
    } catch (error) {
      return (error as { stderr: string }).stderr
    }
    return ''
  }
}

/** What still runs when this process ends, as when a run is broken off, ends with it. */
const running = new Set<ChildProcess>()
process.once('exit', () => running.forEach((child) => child.kill('SIGKILL')))

/** A running `knobwise serve`. */
export class Served {
  url = ''
  #process: ChildProcess | null = null

  constructor(
    readonly command: string,
    readonly folder: Folder | undefined,
  ) {}

  /** Starts it on a free port, and later on the same one again. The address is the first line that it prints. */
  async start(): Promise<void> {
    const port = this.url ? new URL(this.url).port : '0'
    const dir = this.folder ? [this.folder.path] : []
    const child = spawn(this.command, ['serve', ...dir, '--no-open', '--port', port], { stdio: ['ignore', 'pipe', 'pipe'] })
    running.add(child)
    child.once('exit', () => running.delete(child))
    let complaint = ''
    child.stderr.on('data', (text: Buffer) => (complaint += text.toString()))
    const address = await Promise.race([
      once(createInterface(child.stdout), 'line').then(([line]) => String(line)),
      once(child, 'exit').then(() => {
        throw new Error('serve ended: ' + complaint)
      }),
    ])
    this.url = new URL(address).href
    this.#process = child
  }

  /** Ends it at once, as a crash would. */
  async kill(): Promise<void> {
    const child = this.#process
    this.#process = null
    if (!child || child.exitCode !== null) return
    const gone = once(child, 'exit')
    child.kill('SIGKILL')
    await gone
  }

  /** Asks for a sweep as the page does; the page's own answers are compared with nothing less. */
  async sweep(q: Partial<SweepRequest>): Promise<SweepReply> {
    const whole: Omit<SweepRequest, 'box' | 'setup'> = { source: '', load: '', setting: {}, span: null, changes: [], setup_changes: [], cursor_hz: null, peak: '', columns: [], reject_hz: [], drawing: false, ...q }
    const r = await fetch(this.url + 'api/sweep', { method: 'POST', body: JSON.stringify(whole) })
    if (!r.ok) throw new Error(await r.text())
    return (await r.json()) as SweepReply
  }
}

/** A page on the bench, with names for what stands on it. */
export class Visit {
  constructor(
    readonly page: Page,
    readonly served: Served,
  ) {}

  /**
   * Waits until no question is on its way and two frames have passed, so that its answer is drawn. What is answered in
   * pieces may take long; it is waited for where that is asked.
   */
  settled(wholly = false): Promise<void> {
    return this.page.evaluate(async (wholly) => {
      for (let quiet = 0; quiet < 3; ) {
        await new Promise(requestAnimationFrame)
        const { begun, open, long } = window.seen
        quiet = begun && open === 0 && !(wholly && long > 0) ? quiet + 1 : 0
      }
    }, wholly)
  }

  /** A dial by its name: the one in the drawing, or with a list below it the one there. */
  dial(name: string): Locator {
    return this.page.getByRole('slider', { name, exact: true }).last()
  }
  reading(name: string): Promise<string | null> {
    return this.dial(name).getAttribute('aria-valuenow')
  }
  /** The position at which a switch stands in the drawing. */
  async position(name: string): Promise<string | null> {
    return this.page.getByRole('radiogroup', { name, exact: true }).last().locator('[aria-checked=true]').getAttribute('aria-label')
  }
  part(name: string): Locator {
    return this.page.getByRole('button', { name: new RegExp(`^${name} `) }).first()
  }
  button(name: string): Locator {
    return this.page.getByRole('button', { name, exact: true })
  }
  /** The choice of a box or a setup. */
  choice(name: 'Box' | 'connected:'): Locator {
    return this.page.getByRole('combobox', { name, exact: true })
  }
  region(name: string): Locator {
    return this.page.getByRole('region', { name, exact: true })
  }
  banner(): Locator {
    return this.page.locator('.banner')
  }
  chart(): Locator {
    return this.page.getByRole('slider', { name: /^Cursor on the trace/ })
  }
  /** One entry of the address. */
  address(key: string): string | null {
    return new URL(this.page.url()).searchParams.get(key)
  }

  /** Centre and radius of a dial's face, in pixels of the window. */
  async face(name: string): Promise<{ x: number; y: number; r: number }> {
    const dial = this.dial(name)
    await dial.scrollIntoViewIfNeeded()
    const box = await dial.locator('.face').boundingBox()
    if (!box) throw new Error(`the dial ${name} is not to be seen`)
    return { x: box.x + box.width / 2, y: box.y + box.height / 2, r: box.width / 2 }
  }

  /** Drags with the mouse through places. */
  async drag(places: { x: number; y: number }[]): Promise<void> {
    await this.page.mouse.move(places[0].x, places[0].y)
    await this.page.mouse.down()
    for (const p of places.slice(1)) await this.page.mouse.move(p.x, p.y)
    await this.page.mouse.up()
  }

  /** A place on the trace, in parts of its width and height. */
  async place(across: number, down = 0.4): Promise<{ x: number; y: number }> {
    const over = this.page.locator('.u-over')
    await over.scrollIntoViewIfNeeded()
    const box = await over.boundingBox()
    if (!box) throw new Error('there is no trace')
    return { x: box.x + box.width * across, y: box.y + box.height * down }
  }

  /** Opens a part's sheet and writes a value into one of its fields. */
  async whatIf(part: string, field: string, value: string): Promise<void> {
    if ((await this.part(part).getAttribute('aria-pressed')) !== 'true') await this.part(part).click()
    const more = this.region('What if').locator('summary')
    const input = this.region('What if').getByLabel(field, { exact: true })
    if ((await more.count()) > 0 && !(await input.isVisible())) await more.click()
    await input.fill(value)
    await input.press('Enter')
    await this.settled()
  }

  /** Chooses an export and returns its name and bytes. */
  async exported(label: string): Promise<{ name: string; data: Buffer }> {
    await this.page.locator('summary', { hasText: 'Export' }).click()
    const [download] = await Promise.all([this.page.waitForEvent('download'), this.button(label).click()])
    return { name: download.suggestedFilename(), data: readFileSync(await download.path()) }
  }

  /** The lines of the list of changes. */
  async changes(): Promise<string[]> {
    return this.region('Changes').locator('li > span').allInnerTexts()
  }

  /** Pixels of the trace's canvas that have exactly the colour of a line, by its name in the style sheet. */
  ink(colour: 'now' | 'straight' | 'pinned'): Promise<number> {
    return this.page.evaluate((name) => {
      const canvas = document.querySelector<HTMLCanvasElement>('.u-wrap canvas')
      const copy = document.createElement('canvas').getContext('2d', { willReadFrequently: true })
      if (!canvas || !copy) return 0
      copy.canvas.width = canvas.width
      copy.canvas.height = canvas.height
      copy.fillStyle = getComputedStyle(document.documentElement).getPropertyValue('--' + name).trim()
      copy.fillRect(0, 0, 1, 1)
      const [r, g, b] = copy.getImageData(0, 0, 1, 1).data
      copy.clearRect(0, 0, 1, 1)
      copy.drawImage(canvas, 0, 0)
      const { data } = copy.getImageData(0, 0, canvas.width, canvas.height)
      let count = 0
      for (let i = 0; i < data.length; i += 4) if (data[i] === r && data[i + 1] === g && data[i + 2] === b && data[i + 3] === 255) count++
      return count
    }, colour)
  }

  /** Everything that a person reads on the page, without what follows the pointer. */
  async told(): Promise<Record<string, unknown>> {
    await this.settled()
    const text = async (l: Locator) => ((await l.count()) > 0 ? l.first().innerText() : '')
    const values = (l: Locator) => l.evaluateAll((all) => all.map((e) => (e as HTMLInputElement).value))
    return {
      title: await this.page.title(),
      dials: await this.page.locator('.dial').evaluateAll((all) => all.map((d) => `${d.getAttribute('aria-label')} ${d.getAttribute('aria-valuetext')}`)),
      switches: await this.page.locator('.pill.on').evaluateAll((all) => all.map((p) => p.getAttribute('aria-label'))),
      range: await values(this.page.getByRole('group', { name: 'Range' }).locator('input')),
      view: await this.page.locator('.views [aria-pressed=true]').allInnerTexts(),
      smith: await this.page.locator('svg[aria-label^="Smith"]').evaluateAll((all) => all.map((s) => s.getAttribute('aria-label'))),
      legend: await this.page.locator('.legend li').allInnerTexts(),
      readings: await text(this.region('Readings')),
      budget: await text(this.region('Power budget')),
      pins: await values(this.region('Pinned traces').locator('input')),
      changes: await this.changes(),
      trace: (await this.chart().count()) > 0 ? await this.page.locator('.u-wrap canvas').evaluate((c) => (c as HTMLCanvasElement).toDataURL()) : '',
    }
  }
}

/** Waits until something stands wholly within the window. */
export async function inViewport(l: Locator): Promise<void> {
  await l.page().waitForFunction((e) => {
    const r = e?.getBoundingClientRect()
    return r && r.height > 0 && r.top >= 0 && r.bottom <= innerHeight
  }, await l.elementHandle())
}
