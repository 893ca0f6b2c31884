// The whole state is in the address: it can be pasted to a friend, and the back button works.

import { phone } from './stage'
import { expect, it } from './test'

const tern = '?box=tern-point&setup=bench-50'
const everything =
  tern +
  '&knob.Input=6.25&switch.Range=middle&from=1000000&to=4000000&points=201&spacing=log&view=volts&cursor=2500000&reject=1530000' +
  '&change=%2Bparts%2FC3%2Fvalue%3D150+pF&setup-change=%2Bload%2Fvalue%3D75+ohm&pin=name%3Das%2Bit%2Bwas%26box%3Dtern-point%26knob.Input%3D3.5'

it('what was set on one page stands on another with its address', async ({ stage }) => {
  const served = await stage.shared()
  const v = await stage.open(served, tern)
  const { page } = v
  await v.button('Pin this trace').click()
  await page.getByLabel('Name of pinned trace 1').fill('as it was & = ?')
  await page.keyboard.press('Enter')
  await v.dial('Input').focus()
  await page.keyboard.type('6.25')
  await page.keyboard.press('Enter')
  await page.getByRole('radio', { name: 'middle', exact: true }).first().click()
  await page.getByLabel('from', { exact: true }).fill('1 MHz')
  await page.keyboard.press('Enter')
  await page.getByLabel('points').fill('201')
  await page.keyboard.press('Enter')
  await page.getByLabel('log').check()
  await v.settled()
  const at = await v.place(0.6)
  await page.mouse.click(at.x, at.y)
  await page.getByLabel('rejection at').fill('1.53 MHz')
  await v.button('Add').click()
  await v.whatIf('C3', 'value', '150 pF')
  await v.button('Source and load…').click()
  const load = v.region('What if').getByLabel('value', { exact: true })
  await load.fill('75 ohm')
  await load.press('Enter')
  await v.button('volts').click()
  const told = await v.told()
  expect(told).toMatchObject({ dials: expect.arrayContaining(['Input 6.25']), switches: expect.arrayContaining(['middle']), pins: ['as it was & = ?'] })
  expect(told.changes).toHaveLength(2)

  const other = await stage.open(served, new URL(page.url()).search)
  expect(await other.told()).toEqual(told)
})

it('an address with everything in it comes back unchanged, and a reload keeps it', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), everything)
  const asked = new URLSearchParams(everything)
  const now = new URL(v.page.url()).searchParams
  for (const key of new Set(asked.keys())) expect(now.getAll(key), key).toEqual(asked.getAll(key))
  const told = await v.told()
  await v.page.reload()
  await v.settled()
  expect(await v.told()).toEqual(told)
})

it('the Smith chart, its side and its reference are in the address', async ({ stage }) => {
  const served = await stage.shared()
  const v = await stage.open(served, tern)
  await v.button('Smith chart').click()
  await v.button('seen by the load').click()
  await v.page.getByRole('textbox', { name: 'reference' }).fill('75')
  await v.page.keyboard.press('Enter')
  const told = await v.told()
  expect(told.smith).toEqual(['Smith chart of the impedance seen by the load, reference 75 ohm'])
  const other = await stage.open(served, new URL(v.page.url()).search)
  expect(await other.told()).toEqual(told)
})

it('the back button goes through settings, views, ranges and changes, and forward again', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const { page } = v
  const stops = [await v.told()]
  const { x, y } = await v.face('Input')
  await v.drag([0, 20, 40].map((up) => ({ x, y: y - up })))
  stops.push(await v.told())
  await page.getByRole('radio', { name: 'light', exact: true }).first().click()
  stops.push(await v.told())
  await v.button('volts').click()
  stops.push(await v.told())
  await page.getByLabel('to', { exact: true }).fill('3 MHz')
  await page.keyboard.press('Enter')
  stops.push(await v.told())
  await v.whatIf('C3', 'value', '150 pF')
  stops.push(await v.told())
  await v.choice('Box').selectOption('lamp-room.box.yaml')
  await expect.poll(() => page.title()).toContain('Lamp Room')
  stops.push(await v.told())
  for (const stop of stops.slice(0, -1).reverse()) {
    await page.goBack()
    await expect.poll(() => v.told()).toEqual(stop)
  }
  for (const stop of stops.slice(1)) {
    await page.goForward()
    await expect.poll(() => v.told()).toEqual(stop)
  }
})

it('going back can be undone like any other step', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  await v.dial('Input').focus()
  await v.page.keyboard.press('End')
  await expect.poll(() => v.address('knob.Input')).toBe('10')
  await v.page.goBack()
  await expect.poll(() => v.reading('Input')).toBe('3.5')
  await v.button('Undo').click()
  await expect.poll(() => v.reading('Input')).toBe('10')
})

it('an address from a wide window works on a phone', async ({ stage }) => {
  const served = await stage.shared()
  const wide = await (await stage.open(served, everything)).told()
  const narrow = await (await stage.open(served, everything, phone)).told()
  for (const what of ['range', 'view', 'legend', 'readings', 'pins', 'changes']) expect(narrow[what], what).toEqual(wide[what])
})
