// What is inside: values found from traces, what to measure next, and circuits held against each other.

import { circuit, oneKnob } from './oneknob'
import { expect, it } from './test'

const mole = '?box=mole-head&setup=bench-50'

it('the values are found while the page stays usable, and put into the box as changes', async ({ stage }) => {
  const folder = stage.demo()
  const v = await stage.open(await stage.serve(folder), mole)
  const inside = v.region('What is inside')
  await inside.getByRole('button', { name: 'Find the values' }).click()
  await v.dial('Aerial').focus() // meanwhile
  await v.page.keyboard.press('ArrowUp')
  await expect.poll(() => inside.innerText(), { timeout: 30000 }).toContain('Every value is determined.')
  const row = inside.locator('tbody tr', { hasText: 'L1 in Range short' })
  expect(await row.innerText()).toMatch(/12\.\d+ µH\s+±\d\.\d+ %/)
  await v.settled()
  await inside.getByRole('button', { name: 'Put them into the box' }).click()
  await expect.poll(async () => (await v.changes()).length).toBe(9)
  expect((await v.changes()).join(' ')).toMatch(/C3 value: 56\.\d+ pF/)
  expect(await inside.innerText()).toContain('found before the last change')
  const measured = v.region('Measured traces')
  await measured.getByRole('checkbox', { name: 'long 2' }).check()
  await expect.poll(() => measured.innerText()).toMatch(/0\.\d\d dB rms from the model/)
  await v.button('Keep in the file').click()
  await expect.poll(() => folder.read('mole-head.box.yaml')).not.toContain('value: "?')
  await expect.poll(() => v.changes()).toEqual([])
  await inside.getByRole('button', { name: 'Find the values' }).click()
  await expect.poll(() => inside.getByRole('alert').innerText()).toContain('nothing is marked as unknown')
  stage.expect(/status of 422/)
})

it('the next measurement is proposed, and the box set for it', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), mole)
  const inside = v.region('What is inside')
  await inside.getByRole('button', { name: 'What to measure next' }).click()
  const first = inside.locator('ol li').first()
  await expect.poll(() => first.count(), { timeout: 40000 }).toBe(1)
  const reading = /Aerial ([0-9.]+)/.exec(await first.innerText())?.[1]
  await first.getByRole('button').click()
  await expect.poll(async () => Number(await v.reading('Aerial'))).toBe(Number(reading))
})

it('a comparison of circuits can be stopped', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), mole)
  const inside = v.region('What is inside')
  await inside.getByRole('button', { name: 'Compare circuits' }).click()
  await expect.poll(() => inside.innerText()).toContain('fitting many circuits')
  await expect.poll(() => inside.locator('progress').evaluate((p) => (p as HTMLProgressElement).value), { timeout: 30000 }).toBeGreaterThan(0)
  await inside.getByRole('button', { name: 'Stop' }).click()
  expect(await inside.innerText()).not.toContain('fitting')
  expect(await inside.getByRole('status').innerText()).toContain('Stopped before there was an answer')
  await expect.poll(() => inside.getByRole('button', { name: 'Find the values' }).isEnabled()).toBe(true)
})

it('circuits are compared, the true one first, and the box is set to where two differ', async ({ stage }) => {
  const v = await stage.open(await stage.serve(oneKnob(stage)), '?box=one-knob&setup=bench-50')
  const inside = v.region('What is inside')
  await inside.getByRole('button', { name: 'Compare circuits' }).click()
  const rows = inside.getByRole('group', { name: 'Circuits that were compared' }).locator('tbody tr')
  await expect.poll(() => rows.count(), { timeout: 60000 }).toBe(8)
  const first = await rows.first().locator('td').allInnerTexts()
  expect(first[1]).toContain(circuit)
  expect(Number(first[2])).toBeGreaterThan(0.5)
  expect(await rows.nth(7).innerText()).toContain('< 0.001')
  await inside.getByRole('button', { name: /^All \d+ circuits$/ }).click()
  expect(await rows.count()).toBeGreaterThan(40)
  await inside.getByRole('button', { name: 'The first 8 only' }).click()
  expect(await rows.count()).toBe(8)
  await inside.locator('summary', { hasText: 'Values of the first' }).click()
  expect(await inside.getByRole('group', { name: 'Values of the likeliest circuit' }).innerText()).toMatch(/L1\s+(19|20)\.\d+ µH/)
  const reading = /measure at Tune ([0-9.]+)/.exec(await inside.innerText())?.[1]
  await inside.getByRole('button', { name: 'Set the box so to tell the two apart' }).click()
  await expect.poll(async () => Number(await v.reading('Tune'))).toBe(Number(reading))
})
