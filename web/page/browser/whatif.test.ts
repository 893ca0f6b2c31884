// What if: values changed on the page, beside the trace as filed; kept in the file with every other byte, or dropped.

import { decibel } from '../src/quantity'
import { expect, it } from './test'

const tern = '?box=tern-point&setup=bench-50'
const box = 'tern-point.box.yaml'
const setup = 'bench-50.setup.yaml'

it('a part is opened with a click or a key, changed, and drawn beside the trace as filed', async ({ stage }) => {
  const folder = stage.demo()
  const before = folder.read(box)
  const v = await stage.open(await stage.serve(folder), tern)
  const filed = await v.told()
  await v.part('C1').focus()
  await v.page.keyboard.press('Enter')
  await expect.poll(() => v.region('What if').getByRole('heading').first().innerText()).toBe('C1, variable capacitor')
  await v.part('C3').click()
  await expect.poll(() => v.region('What if').getByRole('heading').first().innerText()).toBe('C3, capacitor')
  await v.whatIf('C3', 'value', '150 pF')
  await expect.poll(async () => (await v.told()).legend).toContain('as filed')
  const now = await v.told()
  expect(now.changes).toEqual(['C3 value: 150 pF'])
  expect(now.readings).not.toBe(filed.readings)
  expect(now.trace).not.toBe(filed.trace)
  expect(folder.read(box), 'the file is not touched').toBe(before)
})

it('a change is dropped alone or with all others, and what was filed is back', async ({ stage }) => {
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  const filed = await v.told()
  await v.whatIf('C3', 'value', '150 pF')
  await v.whatIf('L1', 'Q', '60 at 2 MHz')
  await expect.poll(() => v.changes()).toEqual(['C3 value: 150 pF', 'L1 Q: 60 at 2 MHz'])
  await v.button('Drop C3 value: 150 pF').click()
  await expect.poll(() => v.changes()).toEqual(['L1 Q: 60 at 2 MHz'])
  await v.whatIf('C3', 'value', '180 pF')
  await v.button('Drop all').click()
  await expect.poll(() => v.changes()).toEqual([])
  await v.page.mouse.move(1, 1)
  await expect.poll(() => v.told()).toEqual(filed)
})

it('writing what the file has takes the change back', async ({ stage }) => {
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  await v.whatIf('C3', 'Q', '60')
  await expect.poll(() => v.changes()).toEqual(['C3 Q: 60'])
  await v.whatIf('C3', 'Q', '900')
  await expect.poll(() => v.changes()).toEqual([])
})

it('a change that cannot be is told as the command tells it, and the last good state stays', async ({ stage }) => {
  stage.expect(/status of 422/)
  const folder = stage.demo()
  const v = await stage.open(await stage.serve(folder), tern)
  const [good, ink] = [await v.told(), await v.ink('now')]
  await v.whatIf('C1', 'Q', '-4 apples')
  await v.banner().waitFor()
  folder.edit(box, '11 pF .. 420 pF, Q: 400}\n  C2', '11 pF .. 420 pF, Q: -4 apples}\n  C2')
  const told = folder.told('check', box).split('\n')[0]
  expect(told).toContain('apples')
  await expect.poll(() => v.banner().first().innerText()).toContain(told)
  expect((await v.told()).readings).toBe(good.readings)
  expect(await v.ink('now')).toBe(ink)
})

it('dropping a change that cannot be takes its banner away', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  const good = await v.told()
  await v.whatIf('C1', 'Q', '-4 apples')
  await v.banner().waitFor()
  await v.button('Drop the changes').click()
  await expect.poll(() => v.banner().count()).toBe(0)
  await v.page.mouse.move(1, 1)
  await expect.poll(() => v.told()).toEqual(good)
})

it('keeping writes the one value and no other byte', async ({ stage }) => {
  const folder = stage.demo()
  const before = folder.read(box)
  const v = await stage.open(await stage.serve(folder), tern)
  await v.whatIf('L1', 'Q', '123 at 2 MHz')
  const changed = await v.told()
  await v.button('Keep in the file').click()
  await expect.poll(() => folder.read(box)).toBe(before.replace('    Q: 170 at 2 MHz\n', '    Q: 123 at 2 MHz\n'))
  expect(before.match(/#/g)?.length, 'the file has comments to keep').toBeGreaterThan(3)
  await expect.poll(() => v.changes()).toEqual([])
  await expect.poll(() => v.page.getByRole('status').innerText()).toContain(`${box} written`)
  expect(await v.region('What if').getByLabel('Q', { exact: true }).inputValue()).toBe('123 at 2 MHz')
  await expect.poll(async () => (await v.told()).readings).toBe(changed.readings)
  expect((await v.told()).legend).not.toContain('as filed')
})

it('keeping inside a line keeps the comment behind it', async ({ stage }) => {
  const folder = stage.demo()
  const file = 'lamp-room.box.yaml'
  const before = folder.read(file)
  const line = '  C3: {kind: capacitor, nodes: [a, ground], value: 12 pF, Q: 500}   # trimmer'
  expect(before).toContain(line)
  const v = await stage.open(await stage.serve(folder), '?box=lamp-room&setup=bench-50')
  await v.whatIf('C3', 'value', '15 pF')
  await v.button('Keep in the file').click()
  await expect.poll(() => folder.read(file)).toBe(before.replace(line, line.replace('12 pF', '15 pF')))
})

it('a value that was not given is added, one that was given is taken away, and every comment stays', async ({ stage }) => {
  const folder = stage.demo()
  const before = folder.read(box).split('\n')
  const v = await stage.open(await stage.serve(folder), tern)
  await v.whatIf('C4', 'leads', '8 nH')
  await v.whatIf('L1', 'self capacitance', '')
  await expect.poll(() => v.changes()).toEqual(['C4 leads: 8 nH', 'L1 self capacitance: not given'])
  await v.button('Keep in the file').click()
  await expect.poll(() => v.changes()).toEqual([])
  const after = folder.read(box).split('\n')
  const gone = before.filter((line) => !after.includes(line))
  const come = after.filter((line) => !before.includes(line))
  expect(gone).toEqual(['    self capacitance: 2.5 pF', '  C4: {kind: capacitor, nodes: [in, s2], value: 15 pF ± 5 %, Q: 900}'])
  expect(come).toHaveLength(1)
  expect(come[0]).toContain('leads: 8 nH')
  expect(after).toEqual(before.filter((line) => line !== gone[0]).map((line) => (line === gone[1] ? come[0] : line)))
  expect(folder.told('check', box)).not.toContain('error')
})

it('the setup’s numbers are edited in place and kept in the setup', async ({ stage }) => {
  const folder = stage.demo()
  const before = folder.read(setup)
  const v = await stage.open(await stage.serve(folder), tern)
  await v.button('Source and load…').click()
  const load = v.region('What if').getByLabel('value', { exact: true })
  await load.fill('75 ohm')
  await load.press('Enter')
  await v.settled()
  await expect.poll(() => v.changes()).toEqual(['load value: 75 ohm'])
  await expect.poll(async () => (await v.told()).legend).toContain('as filed')
  await v.button('Keep in the file').click()
  await expect.poll(() => folder.read(setup)).toBe(before.replace('value: 50 ohm', 'value: 75 ohm'))
  await expect.poll(() => v.changes()).toEqual([])
})

it('changes of box and setup are kept together', async ({ stage }) => {
  const folder = stage.demo()
  const v = await stage.open(await stage.serve(folder), tern + '&change=%2Bparts%2FC3%2FQ%3D77&setup-change=%2Bload%2Fvalue%3D75+ohm')
  await expect.poll(() => v.changes()).toHaveLength(2)
  await v.button('Keep in the file').click()
  await expect.poll(() => v.changes()).toEqual([])
  expect(folder.read(box)).toContain('Q: 77')
  expect(folder.read(setup)).toContain('75 ohm')
})

it('without a folder a change is kept in memory', async ({ stage }) => {
  const served = await stage.serve()
  const v = await stage.open(served, tern)
  await v.whatIf('C3', 'Q', '77')
  await v.button('Keep in the file').click()
  await expect.poll(() => v.page.getByRole('status').innerText()).toContain('changed in memory')
  const other = await stage.open(served, tern)
  await other.part('C3').click()
  expect(await other.region('What if').getByLabel('Q', { exact: true }).inputValue()).toBe('77')
})

it('another box, source and load are chosen', async ({ stage }) => {
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  await v.choice('Box').selectOption('harbour-t.box.yaml')
  await expect.poll(() => v.page.title()).toContain('Harbour T')
  await expect.poll(() => v.reading('Roller')).toBe('28')
  await v.settled()
  const before = await v.told()
  await v.choice('connected:').selectOption('short-wire.setup.yaml')
  await expect.poll(() => v.address('setup')).toBe('short-wire')
  await expect.poll(async () => (await v.told()).range).not.toEqual(before.range)
  expect((await v.told()).readings).not.toBe(before.readings)
})

it('source and load are taken from any setup, and their sheet says so', async ({ stage }) => {
  const served = await stage.serve(stage.demo())
  const v = await stage.open(served, tern)
  const before = await v.told()
  await v.button('Source and load…').click()
  await v.page.getByRole('combobox', { name: 'source of' }).selectOption('short-wire.setup.yaml')
  await expect.poll(() => v.address('source')).toBe('short-wire')
  await expect.poll(async () => (await v.told()).readings).not.toBe(before.readings)
  await v.page.getByRole('combobox', { name: 'load of' }).selectOption('parapet-wire.setup.yaml')
  await expect.poll(() => v.address('load')).toBe('parapet-wire')
  expect(await v.region('What if').innerText()).toContain('Connected from another setup')
  const { sweep } = await served.sweep({ box, setup, source: 'short-wire.setup.yaml', load: 'parapet-wire.setup.yaml', peak: 'insertion_gain_db' })
  const peak = sweep.features.find((f) => f.trace === 'insertion_gain_db')?.peak_db
  await expect.poll(() => v.region('Readings').innerText()).toContain(decibel(peak))
  await v.page.getByRole('combobox', { name: 'source of' }).selectOption(setup)
  await v.page.getByRole('combobox', { name: 'load of' }).selectOption(setup)
  await v.page.mouse.move(1, 1)
  await expect.poll(async () => (await v.told()).readings).toBe(before.readings)
  expect(v.address('source')).toBe(null)
})

it('a value inside a list is changed and kept, and every other byte of the list stays', async ({ stage }) => {
  const folder = stage.demo()
  const file = 'lamp-room.box.yaml'
  const before = folder.read(file)
  const v = await stage.open(await stage.serve(folder), '?box=lamp-room&setup=bench-50')
  await v.part('T1').click()
  const field = v.region('What if').locator('.field').filter({ has: v.page.locator('input') })
  const inputs = await field.locator('input').evaluateAll((all) => all.map((i) => (i as HTMLInputElement).value))
  const at = inputs.indexOf('150 µH')
  expect(at).toBeGreaterThanOrEqual(0)
  await field.nth(at).locator('input').fill('140 uH')
  await v.page.keyboard.press('Enter')
  await v.settled()
  await expect.poll(() => v.changes()).toHaveLength(1)
  await v.button('Keep in the file').click()
  await expect.poll(() => folder.read(file)).toBe(before.replace('value: 150 uH}    # first circuit', 'value: 140 uH}    # first circuit'))
})
