// Measured traces: listed, drawn as dots, and beside the model.

import { expect, it } from './test'

const tern = '?box=tern-point&setup=bench-50'
const file = 'tern-point.measurements.yaml'

it('a measured trace is shown as dots beside the model, in the address too', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), tern)
  const measured = v.region('Measured traces')
  const plain = (await v.told()).trace
  await measured.getByRole('checkbox', { name: 'as found' }).check()
  await expect.poll(() => measured.innerText()).toMatch(/0\.2\d dB rms from the model at that setting, its noise alone 0\.0\d dB/)
  await v.settled()
  const dotted = (await v.told()).trace
  expect(dotted).not.toBe(plain)
  expect(v.address('measured')).toBe(file + '#0')
  await v.page.reload()
  await v.settled()
  await expect.poll(async () => (await v.told()).legend).toContain('○ as found')
  await measured.getByRole('checkbox', { name: 'as found' }).uncheck()
  await expect.poll(async () => (await v.told()).trace).toBe(plain)
})

it('the box is set as it was measured, and a changed value is judged at once', async ({ stage }) => {
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  const measured = v.region('Measured traces')
  const row = measured.locator('li', { hasText: 'middle of the coil' })
  expect(await row.innerText()).toContain('in doubt: Input, Output')
  await v.button('Set the box as for middle of the coil').click()
  await expect.poll(() => v.position('Range')).toBe('middle')
  expect(await v.reading('Input')).toBe('3')
  await row.getByRole('checkbox').check()
  const rms = async () => Number(/([0-9.]+) dB rms/.exec(await row.innerText())?.[1] ?? NaN)
  await expect.poll(rms).toBeGreaterThan(0.2)
  await v.whatIf('C3', 'value', '70.5 pF')
  await v.whatIf('L1', 'Q', '150 at 2 MHz')
  await expect.poll(rms).toBeLessThan(0.12)
})

it('what cannot be read is told beside it, and the rest goes on', async ({ stage }) => {
  stage.expect(/status of (404|422)/)
  const folder = stage.demo()
  folder.edit('t01.csv', '0.850,', '0.850,x')
  const v = await stage.open(await stage.serve(folder), tern)
  const measured = v.region('Measured traces')
  await measured.getByRole('checkbox', { name: 'as found' }).check()
  await expect.poll(() => measured.innerText()).toContain('t01.csv:4:')
  await measured.getByRole('checkbox', { name: 'middle of the coil' }).check()
  await expect.poll(() => measured.innerText()).toContain('dB rms')
  folder.edit('t01.csv', '0.850,x', '0.850,')
  await expect.poll(() => measured.innerText()).not.toContain('t01.csv:4:')
  folder.edit(file, 'Coupling: medium, Range: long', 'Coupling: hard, Range: long')
  await expect.poll(() => measured.innerText()).toContain('Coupling has no position "hard"')
})
