// The trace: views, cursor, zoom and range, pins.

import { hertz, readFrequency } from '../src/quantity'
import type { Visit } from './stage'
import { expect, it } from './test'

const tern = '?box=tern-point&setup=bench-50'
const [from, to] = [0.5e6, 5e6] // of the setup
/** What one pixel of the trace is wide, in Hz. */
const pixel = async (v: Visit, span = to - from) => span / ((await v.page.locator('.u-over').boundingBox())?.width ?? NaN)
const span = (v: Visit) => [Number(v.address('from')), Number(v.address('to'))]
const cursor = (v: Visit) => Number(v.address('cursor'))

it('the views are dB, volts, phase and the Smith chart, each drawn', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const names = { dB: 'insertion gain, dB', volts: 'volts at the load', phase: 'phase at the load, degrees' }
  const pictures = new Set<unknown>()
  for (const [view, title] of Object.entries(names)) {
    await v.button(view).click()
    const told = await v.told()
    expect(told.view).toEqual([view])
    expect((told.legend as string[])[0]).toBe(title)
    expect(await v.ink('now'), `pixels of the trace in ${view}`).toBeGreaterThan(200)
    expect((await v.ink('straight')) > 100, `straight through in ${view}`).toBe(view !== 'phase')
    expect(await v.chart().getAttribute('aria-label')).toContain(title)
    pictures.add(told.trace)
  }
  expect(pictures.size).toBe(3)
  await v.button('Smith chart').click()
  const curve = v.page.locator('svg[aria-label^="Smith"] path.now')
  const points = ((await curve.getAttribute('d')) ?? '').match(/[ML]/g)
  expect(points).toHaveLength(401)
  const seen = await curve.getAttribute('d')
  await v.button('seen by the load').click()
  await expect.poll(() => curve.getAttribute('d')).not.toBe(seen)
})

it('the Smith chart draws (Z − R)/(Z + R) of the impedance at the cursor', async ({ stage }) => {
  const served = await stage.shared()
  const v = await stage.open(served, tern + '&view=smith&cursor=2000000&reference=75')
  const { sweep } = await served.sweep({ box: 'tern-point.box.yaml', setup: 'bench-50.setup.yaml', cursor_hz: 2e6 })
  // P. H. Smith, Electronics, January 1939.
  const r = sweep.readings[0]
  expect(r.frequency_hz).toBe(2e6)
  const [re, im] = [Number(r.zin_re_ohm), Number(r.zin_im_ohm)]
  const d = (re + 75) ** 2 + im ** 2
  const at = v.page.locator('svg[aria-label^="Smith"] circle.at')
  expect(Number(await at.getAttribute('cx')) / 200).toBeCloseTo(((re - 75) * (re + 75) + im * im) / d, 6)
  expect(Number(await at.getAttribute('cy')) / -200).toBeCloseTo((2 * 75 * im) / d, 6)
})

it('a click sets the cursor, and readings and power budget stand there', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const at = await v.place(0.4)
  await v.page.mouse.click(at.x, at.y)
  await v.settled()
  const step = (to - from) / 400
  expect(Math.abs(cursor(v) - (from + 0.4 * (to - from)))).toBeLessThan(step + (await pixel(v)))
  expect(Number(await v.chart().getAttribute('aria-valuenow'))).toBe(cursor(v))
  expect(await v.region('Readings').innerText()).toContain(`At ${hertz(cursor(v))}`)
  expect(await v.region('Power budget').innerText()).toContain(`At the cursor, ${hertz(cursor(v))}`)
  await v.button('back to the highest gain').click()
  await expect.poll(() => v.address('cursor')).toBe(null)
})

it('keys move the cursor and zoom', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern + '&cursor=2300000')
  const step = (to - from) / 400
  await v.chart().focus()
  const pressed: [string, number][] = [
    ['ArrowRight', 2.3e6 + 4 * step],
    ['ArrowLeft', 2.3e6],
    ['Shift+ArrowRight', 2.3e6 + step],
    ['Shift+ArrowLeft', 2.3e6],
    ['PageUp', 2.3e6 + 40 * step],
    ['PageDown', 2.3e6],
    ['Home', from],
    ['ArrowDown', from],
    ['End', to],
    ['ArrowUp', to],
  ]
  for (const [key, hz] of pressed) {
    await v.page.keyboard.press(key)
    await expect.poll(() => Math.abs(cursor(v) - hz) / step, { message: `after ${key}` }).toBeLessThan(0.01)
    await v.settled() // the next step counts from the answer to this one
  }
  await v.page.keyboard.press('Escape')
  await expect.poll(() => v.address('cursor')).toBe(null)
  await v.settled()
  await v.page.keyboard.press('+')
  await expect.poll(() => (span(v)[1] - span(v)[0]) / (to - from)).toBeCloseTo(0.8, 5)
  await v.settled()
  await v.page.keyboard.press('-')
  await expect.poll(() => (span(v)[1] - span(v)[0]) / (to - from)).toBeCloseTo(1, 5)
  await v.page.keyboard.press('0')
  await expect.poll(() => v.address('from')).toBe(null)
})

it('arrow keys held down move the cursor as often as they come', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern + '&cursor=2300000')
  await v.chart().focus()
  await v.chart().evaluate((chart) => {
    for (let i = 0; i < 5; i++) chart.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowRight', bubbles: true, cancelable: true }))
  })
  await v.settled()
  expect(Math.round((cursor(v) - 2.3e6) / ((to - from) / 400))).toBe(20)
})

it('a drag zooms, Shift and drag moves along, a double click shows the whole range', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const places = async (...across: number[]) => Promise.all(across.map((a) => v.place(a)))
  await v.drag(await places(0.2, 0.3, 0.4, 0.5))
  await v.settled()
  let one = await pixel(v)
  expect(Math.abs(span(v)[0] - (from + 0.2 * (to - from)))).toBeLessThan(1.5 * one)
  expect(Math.abs(span(v)[1] - (from + 0.5 * (to - from)))).toBeLessThan(1.5 * one)
  expect(v.address('cursor'), 'a drag sets no cursor').toBe(null)
  expect(readFrequency(await v.page.getByLabel('from', { exact: true }).inputValue())).toBeCloseTo(span(v)[0], 0)

  const [low, high] = span(v)
  await v.page.keyboard.down('Shift')
  await v.drag(await places(0.5, 0.4, 0.3))
  await v.page.keyboard.up('Shift')
  await v.settled()
  one = await pixel(v, high - low)
  expect(Math.abs(span(v)[0] - (low + 0.2 * (high - low)))).toBeLessThan(1.5 * one)
  expect(Math.abs(span(v)[1] - (high + 0.2 * (high - low)))).toBeLessThan(1.5 * one)
  expect(v.address('cursor'), 'moving along sets no cursor').toBe(null)

  const at = await v.place(0.5)
  await v.page.mouse.dblclick(at.x, at.y)
  await expect.poll(() => v.address('from')).toBe(null)
})

it('the wheel zooms about the pointer where the trace has the focus, and scrolls the page elsewhere', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const at = await v.place(0.25)
  await v.page.mouse.move(at.x, at.y)
  const top = await v.page.evaluate(() => scrollY)
  await v.page.mouse.wheel(0, -100)
  await v.page.mouse.wheel(0, 100)
  expect(v.address('from')).toBe(null)
  await expect.poll(() => v.page.evaluate(() => scrollY), { message: 'the page has scrolled' }).toBeGreaterThan(top)
  await v.chart().focus()
  const here = await v.place(0.25)
  await v.page.mouse.move(here.x, here.y)
  await v.page.mouse.wheel(0, -100)
  await expect.poll(() => v.address('from')).not.toBe(null)
  const about = from + 0.25 * (to - from)
  expect((span(v)[1] - span(v)[0]) / (to - from)).toBeCloseTo(0.8, 5)
  expect(Math.abs(about - span(v)[0] - 0.25 * (span(v)[1] - span(v)[0]))).toBeLessThan(2 * (await pixel(v)))
})

it('range and points are edited, and what is no range is told', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const enter = async (label: string, text: string) => {
    await v.page.getByLabel(label, { exact: true }).fill(text)
    await v.page.keyboard.press('Enter')
    await v.settled()
  }
  await enter('from', '1.2 MHz')
  await enter('to', '2800 kHz')
  await enter('points', '101')
  expect(span(v)).toEqual([1.2e6, 2.8e6])
  await expect.poll(() => v.chart().getAttribute('aria-valuemax')).toBe('2800000')
  expect(v.address('points')).toBe('101')
  await enter('to', '1 MHz')
  await expect.poll(() => v.page.getByRole('alert').allInnerTexts()).toEqual(['the range must end above where it begins'])
  await enter('to', 'soon')
  await expect.poll(() => v.page.getByRole('alert').allInnerTexts()).toEqual(['soon is no frequency; write one like 2.3 MHz'])
  expect(span(v)).toEqual([1.2e6, 2.8e6])
  await enter('to', '2.8 MHz')
  await enter('points', '1')
  await expect.poll(() => v.page.getByRole('alert').allInnerTexts()).toEqual(['points: a whole number from 2 to 20001'])
  await v.button('Setup’s range').click()
  await expect.poll(() => v.address('from')).toBe(null)
  await expect.poll(() => v.page.getByRole('alert').count(), { message: 'the warning goes with its range' }).toBe(0)
})

it('pins are named, drawn, recalled and removed', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await v.button('Pin this trace').click()
  const name = v.page.getByLabel('Name of pinned trace 1')
  expect(await name.inputValue()).toContain('Input 3.5')
  await name.fill('as found')
  await name.press('Enter')
  await v.dial('Input').focus()
  await v.page.keyboard.type('8')
  await v.page.keyboard.press('Enter')
  await v.settled()
  expect((await v.told()).legend).toContain('as found')
  expect(await v.ink('pinned'), 'pixels of the pin').toBeGreaterThan(100)
  await v.button('Set the box so').click()
  await expect.poll(() => v.reading('Input')).toBe('3.5')
  await v.page.keyboard.press('Control+z')
  await expect.poll(() => v.reading('Input')).toBe('8')
  await v.button('Remove as found').click()
  await v.settled()
  expect((await v.told()).legend).not.toContain('as found')
  expect(await v.ink('pinned')).toBe(0)
  expect(v.address('pin')).toBe(null)
})

it('a pin stays what it is when another box is chosen', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await v.button('Pin this trace').click()
  await v.choice('Box').selectOption('lamp-room.box.yaml')
  await expect.poll(() => v.page.title()).toContain('Lamp Room')
  await v.settled()
  expect(await v.ink('pinned')).toBeGreaterThan(100)
  expect(await v.region('Pinned traces').innerText()).toContain('tern-point.box.yaml')
  expect(await v.button('Set the box so').count()).toBe(0)
})

it('a rejection is asked for, read and removed', async ({ stage }) => {
  const served = await stage.shared()
  const v = await stage.open(served, tern)
  await v.page.getByLabel('rejection at').fill('3 MHz')
  await v.button('Add').click()
  await v.settled()
  const { sweep } = await served.sweep({ box: 'tern-point.box.yaml', setup: 'bench-50.setup.yaml', reject_hz: [3e6] })
  const found = sweep.features.find((f) => f.trace === 'insertion_gain_db')?.rejections[0].rejection_db
  expect(found).toBeGreaterThan(3)
  await expect.poll(() => v.region('Readings').innerText()).toContain(`${found?.toFixed(1)} dB`)
  await v.button('Remove rejection at 3.000 MHz').click()
  await expect.poll(() => v.address('reject')).toBe(null)
})

it('the reading below the trace follows the pointer', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const under = v.page.locator('.under')
  const still = await under.innerText()
  const at = await v.place(0.8)
  await v.page.mouse.move(at.x, at.y)
  await expect.poll(() => under.innerText()).not.toBe(still)
  expect(await under.innerText()).toContain(hertz(from + 0.8 * (to - from), 3).slice(0, 3))
  await v.page.mouse.move(1, 1)
  await expect.poll(() => under.innerText()).toBe(still)
})

it('a pinned trace stays when something else is connected', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await v.button('Pin this trace').click()
  await v.choice('connected:').selectOption({ label: 'Bench, oscilloscope probe' })
  await v.settled(true)
  expect(await v.ink('pinned'), 'it does not lie under the trace of now').toBeGreaterThan(50)
  expect(v.address('pin')).toContain('setup=bench-50')
})

it('the back button goes back through ranges and cursors, not past them', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern + '&from=1000000&to=2000000')
  const [a, b] = [await v.place(0.6), await v.place(0.4)]
  await v.page.keyboard.down('Shift')
  await v.drag([a, { x: (a.x + b.x) / 2, y: a.y }, b])
  await v.page.keyboard.up('Shift')
  await v.settled()
  expect(Number(v.address('from'))).toBeGreaterThan(1.1e6)
  await v.page.goBack()
  await expect.poll(() => v.address('from')).toBe('1000000')
  const place = await v.place(0.5)
  await v.page.mouse.dblclick(place.x, place.y)
  await expect.poll(() => v.address('from')).toBeNull()
  expect(v.address('cursor'), 'a double click is no click').toBeNull()
})

it('the oscilloscope shows a sweep as fast as it is asked, with its lag', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await v.button('oscilloscope').click()
  const region = v.region('Trace')
  const highest = async () => (await region.innerText()).match(/highest ([0-9.]+ mV); a sweep without end would show ([0-9.]+ mV)/)?.slice(1)
  // Of the peak: √2 times what the readings say, 192.3 mV, at the nearest of the screen's points; the setup's 200 ms are slow enough.
  await expect.poll(highest).toEqual(['271.9 mV', '271.9 mV'])
  expect(await region.innerText()).toContain('a division: 20.0 ms and 100 mV')
  const curve = region.locator('path.now')
  const slow = await curve.getAttribute('d')
  await region.getByLabel('the sweep takes').fill('50 us')
  await v.page.keyboard.press('Enter')
  await expect.poll(async () => Number((await highest())?.[0].split(' ')[0])).toBeLessThan(260)
  expect(await curve.getAttribute('d')).not.toBe(slow)
  expect(v.address('time')).toBe('0.00005')
  await region.getByLabel('the sweep takes').fill('soon')
  await v.page.keyboard.press('Enter')
  await expect.poll(() => region.getByRole('alert').innerText()).toContain('soon is no time; write one like 200 ms')
  await v.dial('Input').focus()
  const before = await curve.getAttribute('d')
  await v.page.keyboard.press('End')
  await expect.poll(() => curve.getAttribute('d')).not.toBe(before)
})

it('an oscilloscope that cannot be shown says why, and shows no number', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.shared(), tern + '&view=screen')
  const trace = v.region('Trace')
  await expect.poll(() => trace.innerText()).toMatch(/highest \d.*V; a sweep without end would show \d/)
  const refusal = { message: 'too slow to be followed', excerpt: '', file: '', line: 0, column: 0, inside: null }
  await v.page.route('**/api/screen', (r) => r.fulfill({ status: 422, json: { error: refusal } }))
  await trace.getByLabel('the sweep takes').fill('20 s')
  await trace.getByLabel('the sweep takes').press('Enter')
  await expect.poll(() => trace.getByRole('alert').allInnerTexts()).toEqual(['too slow to be followed'])
  expect(await trace.innerText()).not.toContain('highest')
  expect(await trace.getByRole('img').count()).toBe(0)
})
