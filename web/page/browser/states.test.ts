// Empty and hard cases have a state of their own.

import { hard, longest, longNames } from './hard'
import { phone, type Visit } from './stage'
import { expect, it } from './test'

const box = 'tern-point.box.yaml'
const banners = async (v: Visit) => (await v.banner().allInnerTexts()).join('\n')

it('an empty folder says what belongs into it, and shows a bench as soon as there is one', async ({ stage }) => {
  const folder = stage.empty()
  const v = await stage.open(await stage.serve(folder))
  await v.page.getByRole('heading', { name: 'No box in this folder yet' }).waitFor()
  const told = await v.page.getByRole('main').innerText()
  for (const word of ['.box.yaml', folder.path, 'knobwise demo DIR']) expect(told).toContain(word)
  expect(await v.banner().count()).toBe(0)
  const demo = stage.demo()
  folder.copy(demo, box)
  await v.page.getByRole('heading', { name: 'No setup in this folder yet' }).waitFor()
  expect(await v.page.getByRole('main').innerText()).toContain('.setup.yaml')
  folder.copy(demo, 'bench-50.setup.yaml')
  await expect.poll(() => v.reading('Input')).toBe('3.5')
  await v.settled()
  expect(await v.ink('now')).toBeGreaterThan(200)
})

it('a folder that loses its boxes says so', async ({ stage }) => {
  stage.expect(/status of 404/)
  const folder = stage.empty()
  const demo = stage.demo()
  for (const name of [box, 'bench-50.setup.yaml']) folder.copy(demo, name)
  const v = await stage.open(await stage.serve(folder))
  folder.remove(box)
  await v.page.getByRole('heading', { name: 'No box in this folder yet' }).waitFor()
})

it('a box without controls has no dials, and its parts can be changed', async ({ stage }) => {
  const v = await stage.open(await stage.serve(stage.with(hard)), '?box=pad&setup=bench-50')
  expect(await v.region('Signal line').innerText()).toContain('This box has no knob and no switch.')
  expect(await v.page.locator('.dial').count()).toBe(0)
  expect(await v.region('Knobs and switches').count()).toBe(0)
  expect(await v.ink('now')).toBeGreaterThan(200)
  await v.whatIf('R2', 'value', '100 ohm')
  await expect.poll(() => v.changes()).toEqual(['R2 value: 100 ohm'])
  await v.button('Pin this trace').click()
  expect(await v.page.getByLabel('Name of pinned trace 1').inputValue()).toContain('Pad behind the panel')
})

it('a sweep outside a measured range shows the command’s own message', async ({ stage }) => {
  stage.expect(/status of 422/)
  const folder = stage.with(hard)
  const v = await stage.open(await stage.serve(folder), '?box=trap&setup=bench-50')
  const told = folder.told('sweep', 'trap.box.yaml', '--setup', 'bench-50.setup.yaml').trim()
  expect(told).toContain('covers only 1 MHz to 3 MHz')
  await expect.poll(() => banners(v)).toContain(told)
})

it('a sweep outside a measured range can be mended on the page that tells it', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.with(hard)), '?box=trap&setup=bench-50')
  await expect.poll(() => banners(v)).toContain('covers only')
  for (const [label, text] of [['from', '1.2 MHz'], ['to', '2.8 MHz']]) {
    await v.page.getByLabel(label, { exact: true }).fill(text, { timeout: 2000 })
    await v.page.keyboard.press('Enter')
  }
  await expect.poll(() => banners(v)).toBe('')
  await v.settled()
  expect(await v.ink('now')).toBeGreaterThan(200)
})

it('a range that leaves a measured part keeps the last good trace, and going back clears the message', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.with(hard)), '?box=trap&setup=bench-50&from=1200000&to=2800000&points=401')
  const good = await v.told()
  await v.page.getByLabel('to', { exact: true }).fill('4 MHz')
  await v.page.keyboard.press('Enter')
  await expect.poll(() => banners(v)).toContain('covers only 1 MHz to 3 MHz')
  expect((await v.told()).trace).toBe(good.trace)
  await v.page.goBack()
  await expect.poll(() => banners(v)).toBe('')
  await expect.poll(() => v.told()).toEqual(good)
})

it('a rejection outside what is measured is told, and takes nothing else away', async ({ stage }) => {
  for (const reject of ['100000000', '1e300', '1000000&reject=1000000']) {
    const v = await stage.open(await stage.shared(), `?box=tern-point&setup=parapet-wire&cursor=1e300&reject=${reject}`)
    expect(await v.ink('now')).toBeGreaterThan(100)
    const rows = v.region('Readings').locator('div', { hasText: 'rejection at' })
    expect(await rows.count()).toBe(1)
    expect(await rows.innerText()).toContain(reject.startsWith('1000000&') ? 'dB' : 'not covered by what is measured')
    await v.dial('Input').focus()
    await v.page.keyboard.press('End')
    await v.settled()
    await expect.poll(() => v.part('C1').getAttribute('aria-label')).toContain('420.0 pF')
    await rows.getByRole('button').click()
    await expect.poll(() => rows.count()).toBe(0)
  }
})

it('lanes come back with their box', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.with({ 'bad.box.yaml': 'box: Bad\n' })), '?box=tern-point&setup=bench-50')
  await v.settled(true)
  const lanes = await v.page.locator('.lane').count()
  expect(lanes).toBeGreaterThan(3)
  await v.choice('Box').selectOption('bad.box.yaml')
  await v.banner().waitFor()
  await v.choice('Box').selectOption('tern-point.box.yaml')
  await expect.poll(() => v.page.locator('.lane').count()).toBe(lanes)
})

it('the message offers the range that a measured part covers', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.with(hard)), '?box=trap&setup=bench-50')
  await expect.poll(() => banners(v)).toContain('covers only 1 MHz to 3 MHz')
  await v.button('Look from 1.000 MHz to 3.000 MHz').click()
  await expect.poll(() => banners(v)).toBe('')
  expect([v.address('from'), v.address('to')]).toEqual(['1000000', '3000000'])
  expect(await v.ink('now')).toBeGreaterThan(100)
})

it('ten controls are all there and all turn', async ({ stage }) => {
  for (const look of [{}, phone]) {
    const v = await stage.open(await stage.serve(stage.with(hard)), '?box=ten-hands&setup=bench-50', look)
    for (let n = 1; n <= 8; n++) {
      const at = await v.reading(`Section ${n}`)
      expect(at).toBe(String(20 + 5 * n))
      await v.dial(`Section ${n}`).focus()
      await v.page.keyboard.press('ArrowUp')
      await expect.poll(() => v.reading(`Section ${n}`)).toBe(String(21 + 5 * n))
    }
    const radios = v.page.getByRole('radiogroup')
    expect(await radios.count()).toBeGreaterThanOrEqual(2)
    await v.settled()
    expect(await v.ink('now')).toBeGreaterThan(100)
  }
})

it('long names stay inside the window', async ({ stage }) => {
  for (const look of [{}, phone]) {
    const v = await stage.open(await stage.serve(stage.with(longNames)), '?box=long&setup=bench-50', look)
    expect(await v.page.title()).toContain(longest)
    await v.part('C_toTheReceiverThroughTheLongGreenCableUnderTheFloor').click()
    await v.region('What if').waitFor()
    await v.button('Pin this trace').click()
    await v.settled()
    expect(await v.page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0)
    // What stands in a drawing stands inside its own picture.
    const outside = await v.page.locator('section[aria-label="Signal line"] svg text, .controls svg text').evaluateAll((all) =>
      all.flatMap((t) => {
        const [box, frame] = [t.getBoundingClientRect(), (t as SVGTextElement).ownerSVGElement?.getBoundingClientRect()]
        return frame && box.width > 0 && (box.left < frame.left - 1 || box.right > frame.right + 1) ? [t.textContent] : []
      }),
    )
    expect(outside).toEqual([])
  }
})

it('an address with a box that is not here says so, and another can be chosen', async ({ stage }) => {
  stage.expect(/status of 404/)
  const v = await stage.open(await stage.serve(stage.demo()), '?box=gone&setup=bench-50')
  await expect.poll(() => banners(v)).toContain('gone.box.yaml')
  await v.choice('Box').selectOption(box)
  await expect.poll(() => v.reading('Input')).toBe('3.5')
  await expect.poll(() => v.banner().count()).toBe(0)
})

it('an address that is nonsense shows the box as it starts', async ({ stage }) => {
  stage.expect(/status of 4\d\d/)
  const v = await stage.open(await stage.serve(stage.demo()), '?box=tern-point&setup=bench-50&knob.Input=lots&switch.Range=sideways&from=9&to=2&view=taste&cursor=-3&pin=%26%3D&change=zzz')
  expect(await v.reading('Input')).toBe('3.5')
  expect(await v.position('Range')).toBe('long')
  expect(await v.ink('now')).toBeGreaterThan(200)
})

it('a reading beyond the stops in an address leaves a box that can be turned', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.demo()), '?box=tern-point&setup=bench-50&knob.Input=42')
  const told = await banners(v)
  const at = (await v.dial('Input').count()) > 0 ? await v.reading('Input') : 'none'
  expect(told.includes('42') || at === '10', `reading ${at}, told ${JSON.stringify(told)}`).toBe(true)
  expect(at, 'the dial is there').not.toBe('none')
  await v.dial('Input').focus()
  await v.page.keyboard.press('Home')
  await expect.poll(() => v.banner().count()).toBe(0)
  await v.settled()
  expect(await v.ink('now')).toBeGreaterThan(200)
})

it('a scale that becomes shorter on disk than where its dial stands leaves a box that can be turned', async ({ stage }) => {
  stage.expect(/status of 422/)
  const folder = stage.demo()
  const v = await stage.open(await stage.serve(folder), '?box=tern-point&setup=bench-50&knob.Output=9')
  folder.edit(box, 'Output: {knob: C2, scale: 0 .. 10}', 'Output: {knob: C2, scale: 0 .. 8}')
  await expect.poll(() => v.dial('Output').getAttribute('aria-valuemax')).toBe('8')
  await v.dial('Output').focus()
  await v.page.keyboard.press('ArrowDown')
  await expect.poll(async () => Number(await v.reading('Output'))).toBeLessThanOrEqual(8)
  await v.settled()
  await expect.poll(() => v.banner().count()).toBe(0)
})
