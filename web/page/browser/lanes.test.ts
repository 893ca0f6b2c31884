// Lanes and the tuning chart: what all positions can do, and the box set by it.

import { execFileSync } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { decibel } from '../src/quantity'
import { hard } from './hard'
import type { Visit } from './stage'
import { expect, it } from './test'

const tern = '?box=tern-point&setup=bench-50'
const box = 'tern-point.box.yaml'
const setup = 'bench-50.setup.yaml'

const lanes = (v: Visit) => v.page.getByRole('slider', { name: /: set the box at a frequency$/ })
const marked = (v: Visit) => v.page.locator('.lane.on svg')
const shapes = (v: Visit) => v.page.locator('.lane .area').evaluateAll((all) => all.map((a) => a.getAttribute('d')))
const settled = (v: Visit) => v.settled(true)

/** Every control as the page shows it. */
async function setting(v: Visit): Promise<Record<string, string | number | null>> {
  return {
    Input: Number(await v.reading('Input')),
    Output: Number(await v.reading('Output')),
    Coupling: await v.position('Coupling'),
    Range: await v.position('Range'),
  }
}

it('one lane for each position of the switches that has a peak, and the one that is set is marked', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await settled(v)
  const names = await lanes(v).evaluateAll((all) => all.map((l) => l.getAttribute('aria-label') ?? ''))
  expect(new Set(names).size).toBe(names.length)
  expect(names.length).toBeGreaterThan(3)
  expect(await marked(v).count()).toBe(1)
  const first = await marked(v).getAttribute('aria-label')
  expect(first).toContain(`Coupling ${await v.position('Coupling')}`)
  await v.page.getByRole('radio', { name: 'light', exact: true }).first().click()
  await settled(v)
  expect(await marked(v).getAttribute('aria-label')).toBe(first?.replace('Coupling medium', 'Coupling light'))
})

it('a click in a lane sets the box for a peak there, in one step of undo', async ({ stage }) => {
  const served = await stage.shared()
  const v = await stage.open(served, tern)
  await settled(v)
  const before = await setting(v)
  for (const n of [1, 2]) {
    const l = lanes(v).nth(n)
    await l.scrollIntoViewIfNeeded()
    // The middle of the area, where a peak can be placed.
    const area = await l.locator('.area').first().boundingBox()
    const all = await l.boundingBox()
    if (!area || !all) throw new Error('the lane is not to be seen')
    await v.page.mouse.move(area.x + area.width / 2, all.y + all.height / 2)
    const told = await l.locator('xpath=..').locator('.told').innerText()
    expect(told).toMatch(/^[-+−\d.]+ dB at [\d.]+ MHz$/)
    await v.page.mouse.click(area.x + area.width / 2, all.y + all.height / 2)
    await settled(v)
    expect(await l.evaluate((e) => e.closest('.lane')?.classList.contains('on'))).toBe(true)
    // The cursor stands where the click was; the trace has its peak there, as high as the lane told.
    const hz = Number(v.address('cursor'))
    const { sweep } = await served.sweep({ box, setup, setting: (await setting(v)) as Record<string, string | number>, span: { from_hz: hz * 0.97, to_hz: hz * 1.03, points: 801, log: false } })
    const gain = sweep.insertion_gain_db as number[]
    const top = gain.indexOf(Math.max(...gain))
    expect(Math.abs((sweep.frequency_hz[top] ?? 0) / hz - 1), 'the peak stands at the click').toBeLessThan(2e-3)
    expect(told).toContain(decibel(gain[400]).split('.')[0])
  }
  await v.button('Undo').click()
  await v.button('Undo').click()
  await expect.poll(() => setting(v)).toEqual(before)
  expect(await v.button('Undo').isDisabled()).toBe(true)
})

it('keys do the same', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await settled(v)
  const l = lanes(v).nth(1)
  await l.focus()
  await v.page.keyboard.press('Home')
  const from = Number(await l.getAttribute('aria-valuenow'))
  for (let i = 0; i < 3; i++) await v.page.keyboard.press('ArrowRight')
  const there = Number(await l.getAttribute('aria-valuenow'))
  expect(there).toBeGreaterThan(from)
  expect(await l.getAttribute('aria-valuetext')).toMatch(/dB at/)
  await v.page.keyboard.press('Enter')
  await settled(v)
  expect(Number(v.address('cursor'))).toBeCloseTo(there, -2)
  expect(await l.evaluate((e) => e.closest('.lane')?.classList.contains('on'))).toBe(true)
})

it('where no peak can be placed a click says so and turns nothing', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.shared(), tern)
  await settled(v)
  const before = await setting(v)
  const l = lanes(v).first()
  await l.scrollIntoViewIfNeeded()
  const all = await l.boundingBox()
  const area = await l.locator('.area').first().boundingBox()
  if (!all || !area) throw new Error('the lane is not to be seen')
  const clear = area.x - all.x > 20 ? all.x + 5 : all.x + all.width - 5
  await v.page.mouse.click(clear, all.y + all.height / 2)
  await expect.poll(() => v.region('Lanes').getByRole('alert').innerText()).toContain('no position of the knobs places a peak at')
  expect(await setting(v)).toEqual(before)
  expect((await l.boundingBox())?.y, 'nothing moved under the pointer').toBe(all.y)
})

it('lanes follow a part, the source and the load, and not the dials', async ({ stage }) => {
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  await settled(v)
  const filed = await shapes(v)
  expect(filed.length).toBeGreaterThan(3)
  await v.dial('Input').focus()
  await v.page.keyboard.press('End')
  await settled(v)
  expect(await shapes(v)).toEqual(filed)
  await v.whatIf('C3', 'value', '300 pF')
  await settled(v)
  await expect.poll(() => shapes(v)).not.toEqual(filed)
  await v.button('Drop all').click()
  await settled(v)
  await expect.poll(() => shapes(v)).toEqual(filed)
  await v.choice('connected:').selectOption({ label: 'Seven metres of wire' })
  await settled(v)
  await expect.poll(() => shapes(v)).not.toEqual(filed)
})

it('the tuning chart has the numbers of the command, prints, and sets the box', async ({ stage }) => {
  const folder = stage.demo()
  const v = await stage.open(await stage.serve(folder), tern)
  await v.page.locator('summary', { hasText: 'Tuning chart' }).click()
  await v.page.getByLabel('where to set all controls for').fill('1.9 MHz, 2.4 MHz .. 3 MHz in 3')
  await v.button('Make').click()
  const rows = v.page.locator('details tbody tr')
  await expect.poll(() => rows.count(), { timeout: 60_000 }).toBe(4)
  const csv = execFileSync(folder.command, ['chart', box, '--setup', setup, '--at', '1.9MHz,2.4MHz,2.7MHz,3MHz', '--format', 'csv'], { cwd: folder.path, encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] })
  const made = async (button: string) => {
    const [download] = await Promise.all([v.page.waitForEvent('download', { timeout: 60_000 }), v.button(button).click()])
    return readFileSync(await download.path(), 'utf8')
  }
  expect(await made('CSV')).toBe(csv)
  const html = await made('A page to print')
  expect(html).toContain('@media print')
  expect(html).toContain('2.7000 MHz')
  // A line sets the box as the command says.
  const [head, ...lines] = csv.trimEnd().split('\n').map((line) => line.split(','))
  const line = Object.fromEntries(head.map((name, i) => [name, lines[2][i]]))
  expect(line.frequency_hz).toBe('2.7e+06')
  await rows.nth(2).getByRole('button').click()
  await settled(v)
  expect(v.address('cursor')).toBe('2700000')
  const there = await setting(v)
  expect([there.Coupling, there.Range]).toEqual([line.Coupling, line.Range])
  expect([there.Input, there.Output]).toEqual([Number(line.Input), Number(line.Output)])
  // With something else connected the chart no longer holds.
  await v.choice('connected:').selectOption({ label: 'Seven metres of wire' })
  await settled(v)
  await expect.poll(() => rows.count()).toBe(0)
})

it('a long chart shows how far it is and stops at once', async ({ stage }) => {
  const v = await stage.open(await stage.serve(stage.with(hard)), '?box=ten-hands&setup=bench-50')
  await v.page.locator('summary', { hasText: 'Tuning chart' }).click()
  await v.page.getByLabel('where to set all controls for').fill('1 MHz .. 5 MHz in 400')
  await v.button('Make').click()
  const bar = v.page.locator('details progress')
  await bar.waitFor()
  await expect.poll(() => bar.evaluate((e) => (e as HTMLProgressElement).value), { timeout: 60_000 }).toBeGreaterThan(0)
  await v.button('Stop').click()
  await expect.poll(() => bar.count()).toBe(0)
  expect(await v.page.locator('details tbody tr').count()).toBe(0)
  expect(await v.banner().count()).toBe(0)
})

it('a list of frequencies that cannot be read is told beside it, and asks nothing', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await v.page.locator('summary', { hasText: 'Tuning chart' }).click()
  for (const [text, told] of [
    ['two megahertz', 'two megahertz is no frequency'],
    ['', 'name some frequencies'],
    ['1 MHz .. in 3', 'is no range'],
  ]) {
    await v.page.getByLabel('where to set all controls for').fill(text)
    await v.button('Make').click()
    await expect.poll(() => v.page.locator('details [role=alert]').innerText()).toContain(told)
  }
})
