// Dials and switches under mouse, wheel, keys, digits and finger.

import type { Visit } from './stage'
import { phone } from './stage'
import { expect, it } from './test'

const tern = '?box=tern-point&setup=bench-50'
const turns = async (v: Visit, name: string, to: string) => {
  await expect.poll(() => v.reading(name)).toBe(to)
  expect(await v.dial(name).getAttribute('aria-valuetext')).toBe(to.includes('.') ? to : to + '.0')
}

it('a dial turns with a drag straight up and down', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await turns(v, 'Input', '3.5')
  const { x, y } = await v.face('Input')
  // 200 pixels are the whole scale of 0 to 10.
  await v.drag([0, 10, 20, 30, 40, 50, 60].map((up) => ({ x, y: y - up })))
  await turns(v, 'Input', '6.5')
  await v.drag([0, 10, 20].map((down) => ({ x, y: y + down })))
  await turns(v, 'Input', '5.5')
  await v.drag([{ x, y }, { x, y: y - 20 }, { x, y: y - 600 }])
  await turns(v, 'Input', '10')
})

it('a dial turns with a drag round its rim', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const { x, y, r } = await v.face('Input')
  const round = (degrees: number) => ({ x: x + (r - 2) * Math.sin((degrees * Math.PI) / 180), y: y - (r - 2) * Math.cos((degrees * Math.PI) / 180) })
  await v.drag(Array.from({ length: 31 }, (_, i) => round(3 * i)))
  // A quarter turn of the 270 degrees of the scale: a third of it.
  await turns(v, 'Input', '6.83')
})

it('a drag with Shift is ten times finer', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const { x, y } = await v.face('Input')
  await v.page.keyboard.down('Shift')
  await v.drag([0, 20, 40].map((up) => ({ x, y: y - up })))
  await v.page.keyboard.up('Shift')
  await turns(v, 'Input', '3.7')
})

it('a dial turns with the wheel, finer with Shift', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const { x, y } = await v.face('Output')
  await v.page.mouse.move(x, y)
  await v.page.mouse.wheel(0, -100)
  await turns(v, 'Output', '6.1')
  await v.page.mouse.wheel(0, 100)
  await v.page.mouse.wheel(0, 100)
  await turns(v, 'Output', '5.9')
  await v.page.keyboard.down('Shift')
  await v.page.mouse.wheel(0, -100)
  await v.page.keyboard.up('Shift')
  await turns(v, 'Output', '5.91')
  expect(await v.page.evaluate(() => scrollY), 'the page has not scrolled').toBe(0)
})

it('a dial follows the keys of a slider', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const dial = v.dial('Input')
  await dial.focus()
  expect(await Promise.all(['aria-valuemin', 'aria-valuemax', 'aria-valuenow'].map((a) => dial.getAttribute(a)))).toEqual(['0', '10', '3.5'])
  const pressed: [string, string][] = [
    ['ArrowUp', '3.6'],
    ['ArrowRight', '3.7'],
    ['ArrowDown', '3.6'],
    ['ArrowLeft', '3.5'],
    ['Shift+ArrowUp', '3.51'],
    ['Shift+ArrowLeft', '3.5'],
    ['PageUp', '4.5'],
    ['PageDown', '3.5'],
    ['End', '10'],
    ['ArrowUp', '10'],
    ['Home', '0'],
    ['ArrowDown', '0'],
  ]
  for (const [key, to] of pressed) {
    await v.page.keyboard.press(key)
    await turns(v, 'Input', to)
  }
})

it('a dial takes a typed reading, and refuses one beyond its stops', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await v.dial('Input').focus()
  await v.page.keyboard.type('4.25')
  expect(await v.dial('Input').getAttribute('aria-valuetext')).toBe('typing 4.25')
  expect(await v.reading('Input')).toBe('3.5')
  await v.page.keyboard.press('Enter')
  await turns(v, 'Input', '4.25')
  await v.page.keyboard.type('42')
  await v.page.keyboard.press('Enter')
  expect(await v.reading('Input')).toBe('4.25')
  await v.page.keyboard.press('Escape')
  await turns(v, 'Input', '4.25')
  await v.page.keyboard.type('7,5') // a comma serves as well
  await v.page.keyboard.press('Tab')
  await turns(v, 'Input', '7.5')
})

it('turning a dial changes trace, readings, power budget and address', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const before = await v.told()
  await v.dial('Input').focus()
  await v.page.keyboard.press('PageUp')
  await turns(v, 'Input', '4.5')
  const after = await v.told()
  for (const what of ['trace', 'readings', 'budget', 'dials']) expect(after[what], what).not.toEqual(before[what])
  expect(v.address('knob.Input')).toBe('4.5')
})

it('a switch follows click and keys', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const pill = (name: string) => v.page.getByRole('radio', { name, exact: true }).first()
  expect(await v.position('Coupling')).toBe('medium')
  await pill('light').click()
  await expect.poll(() => v.position('Coupling')).toBe('light')
  expect(v.address('switch.Coupling')).toBe('light')
  const pressed: [string, string][] = [
    ['ArrowDown', 'direct'], // round to the first
    ['ArrowRight', 'medium'],
    ['ArrowUp', 'direct'],
    ['ArrowLeft', 'light'],
    ['Home', 'direct'],
    ['End', 'light'],
  ]
  for (const [key, to] of pressed) {
    await v.page.keyboard.press(key)
    await expect.poll(() => v.position('Coupling')).toBe(to)
    await expect.poll(() => pill(to).evaluate((p) => p === document.activeElement), { message: 'the focus goes along' }).toBe(true)
  }
})

it('the drawing follows a switch', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const label = () => v.part('C1').getAttribute('aria-label')
  expect(await label()).not.toContain('no current')
  await v.page.getByRole('radio', { name: 'straight', exact: true }).first().click()
  await expect.poll(label).toContain('no current at this setting')
})

it('on a phone a finger turns a dial and sets a switch', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern, phone)
  const list = v.region('Knobs and switches')
  await list.waitFor()
  const { x, y } = await v.face('Input')
  const top = await v.page.evaluate(() => scrollY)
  const finger = await v.page.context().newCDPSession(v.page)
  const touch = (type: 'touchStart' | 'touchMove' | 'touchEnd', up = 0) =>
    finger.send('Input.dispatchTouchEvent', { type, touchPoints: type === 'touchEnd' ? [] : [{ x, y: y - up }] })
  await touch('touchStart')
  for (const up of [10, 20, 30, 40]) await touch('touchMove', up)
  await touch('touchEnd')
  await turns(v, 'Input', '5.5')
  expect(await v.page.evaluate(() => scrollY), 'the page stays while the dial turns').toBe(top)
  await v.page.waitForTimeout(300) // what follows a drag faster than a hand can is no tap to Chromium
  await list.getByText('light', { exact: true }).tap()
  await expect.poll(() => v.address('switch.Coupling')).toBe('light')
})
