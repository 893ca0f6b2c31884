// Measured traces: listed, drawn as dots, and beside the model.

import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { inViewport, type Visit } from './stage'
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

it('setting the box as measured connects what was connected', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), '?box=mole-head&setup=bench-50')
  await v.button('Set the box as for long probe').click()
  await expect.poll(() => v.choice('connected:').inputValue()).toBe('bench-probe.setup.yaml')
  await expect.poll(() => v.reading('Set')).toBe('2')
  await v.button('Set the box as for short 1').click()
  await expect.poll(() => v.choice('connected:').inputValue()).toBe('bench-50.setup.yaml')
  await expect.poll(() => v.position('Range')).toBe('short')
})

it('a setup that the page cannot connect is told beside the button', async ({ stage }) => {
  const folder = stage.demo()
  mkdirSync(join(folder.path, 'away'))
  folder.write('away/probe.setup.yaml', folder.read('bench-probe.setup.yaml'))
  folder.edit('mole-head.measurements.yaml', 'file: n05.csv, setup: bench-probe', 'file: n05.csv, setup: away/probe')
  const v = await stage.open(await stage.serve(folder), '?box=mole-head&setup=bench-50')
  const row = v.region('Measured traces').locator('li', { hasText: 'long probe' })
  await expect.poll(() => row.innerText()).toContain('sets the controls only: away/probe.setup.yaml is none of the setups here')
  await v.button('Set the box as for long probe').click()
  await expect.poll(() => v.reading('Set')).toBe('2')
  expect(await v.choice('connected:').inputValue()).toBe('bench-50.setup.yaml')
  expect(await v.region('Measured traces').locator('li', { hasText: 'short probe' }).innerText()).not.toContain('none of the setups')
})

/** Types a reading on a dial. */
async function turn(v: Visit, dial: string, reading: string) {
  await v.dial(dial).focus()
  await v.page.keyboard.type(reading)
  await v.page.keyboard.press('Enter')
}

const csv = (text: string) => ({ mimeType: 'text/csv', buffer: Buffer.from(text) })

it('a trace is dropped on the page, seen beside the model as the dials turn, and kept', async ({ stage }) => {
  const folder = stage.demo()
  const v = await stage.open(await stage.serve(folder), tern)
  const measured = v.region('Measured traces')
  await measured.getByRole('checkbox', { name: 'as found' }).check()
  await measured.getByRole('button', { name: 'Set the box as for as found' }).click()
  const text = folder.read('t01.csv')
  const files = await v.page.evaluateHandle((t) => {
    const d = new DataTransfer()
    d.items.add(new File([t], 'evening.csv', { type: 'text/csv' }))
    return d
  }, text)
  await v.page.dispatchEvent('main', 'dragover', { dataTransfer: files })
  expect(await measured.innerText()).toContain('let go to read it')
  await v.page.dispatchEvent('main', 'drop', { dataTransfer: files })
  const sheet = v.region('New trace')
  await expect.poll(() => sheet.innerText()).toMatch(/rms from the model.*level fitted/s)
  expect(await sheet.innerText()).toContain('delimiter comma, decimal point')
  await sheet.getByLabel('straight through').selectOption('straight.csv')
  const rms = async () => Number(/([0-9.]+) dB rms/.exec(await sheet.innerText())?.[1] ?? NaN)
  await expect.poll(async () => (await sheet.innerText()).includes('level fitted')).toBe(false)
  await expect.poll(rms).toBeLessThan(0.3)
  await turn(v, 'Input', '5')
  await expect.poll(rms).toBeGreaterThan(1)
  await turn(v, 'Input', '3.5')
  await expect.poll(rms).toBeLessThan(0.3)
  expect(await sheet.getByRole('img').getAttribute('aria-label')).toMatch(/^insertion gain, measured and model, from 800\.0 kHz/)
  await sheet.getByRole('checkbox', { name: 'Output' }).check()
  await sheet.getByLabel('call it').fill('an evening: late')
  await sheet.getByRole('button', { name: 'Keep it' }).click()
  await expect.poll(() => measured.innerText()).toContain('an evening: late')
  expect(await measured.locator('li', { hasText: 'an evening' }).innerText()).toContain('in doubt: Output')
  expect(await measured.getByRole('checkbox', { name: 'an evening: late' }).isChecked()).toBe(true)
  expect(folder.read('evening.csv')).toBe(text)
  expect(folder.read(file)).toContain('  - name: "an evening: late"\n    file: evening.csv\n')
  await measured.locator('li', { hasText: 'an evening' }).getByText('what is left').click()
  await expect.poll(() => measured.locator('li', { hasText: 'an evening' }).getByRole('img').count()).toBe(1)
})

it('a waveform asks for its sweep, and what cannot be read says why', async ({ stage }) => {
  stage.expect(/status of (404|413|422)/)
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  const chooser = v.page.getByLabel('The file of a measured trace')
  await chooser.setInputFiles({ name: 'notes.csv', ...csv('nothing\nto read\n') })
  await expect.poll(() => v.region('New trace').getByRole('alert').innerText()).toMatch(/notes\.csv.*no/s)
  let record = 'time (s),CH1 (V)\n'
  for (let i = 0; i < 4000; i++) record += `${(i * 5e-8).toExponential(6)},${(0.3 * Math.sin(2 * Math.PI * 2e6 * i * 5e-8)).toFixed(5)}\n`
  await chooser.setInputFiles({ name: 'scope.csv', ...csv(record) })
  const sheet = v.region('New trace')
  await expect.poll(() => sheet.getByLabel('holds').inputValue()).toBe('waveform')
  await expect.poll(() => sheet.getByRole('alert').innerText()).toContain('a record must hold a tenth of the sweep')
  await sheet.getByLabel('from', { exact: true }).fill('1 MHz')
  await sheet.getByLabel('to', { exact: true }).fill('3 MHz')
  await sheet.getByLabel('takes').fill('200 us')
  await expect.poll(() => sheet.innerText()).toContain('rms from the model')
  await sheet.getByLabel('takes').fill('200 furlongs')
  await expect.poll(() => sheet.getByRole('alert').innerText()).toContain('time')
  await sheet.getByRole('button', { name: 'Leave it' }).click()
  expect(await sheet.count()).toBe(0)
})

/** Drops files on the page. */
async function drop(v: Visit, ...dropped: [name: string, text: string][]) {
  const files = await v.page.evaluateHandle((all) => {
    const d = new DataTransfer()
    for (const [name, text] of all) d.items.add(new File([text], name, { type: 'text/csv' }))
    return d
  }, dropped)
  await v.page.dispatchEvent('main', 'drop', { dataTransfer: files })
}

const good = 'frequency (Hz),CH1 (V)\n1e6,0.1\n2e6,0.3\n3e6,0.1\n'
const focused = (v: Visit) => v.page.evaluate(() => document.activeElement?.textContent?.trim())

for (const look of [{}, { width: 390, height: 844 }])
  it(`what came of a drop is brought into view, at ${look.width ?? 1280}`, async ({ stage }) => {
    stage.expect(/status of (404|413|422)/)
    const v = await stage.open(await stage.serve(stage.demo()), tern, look)
    const sheet = v.region('New trace')
    await v.page.evaluate(() => scrollTo(0, 0))
    await drop(v, ['m.csv', good])
    await inViewport(sheet.getByRole('heading').first())
    expect(await focused(v)).toBe('m.csv')
    await sheet.getByRole('button', { name: 'Leave it' }).click()
    await expect.poll(() => focused(v)).toBe('Add a measured trace')
    await v.page.evaluate(() => scrollTo(0, 0))
    await drop(v, ['bad.csv', 'hello\nworld\n'])
    await inViewport(sheet.getByRole('alert'))
    expect(await focused(v)).toBe('bad.csv')
    await sheet.getByRole('button', { name: 'Leave it' }).click()
    await v.page.evaluate(() => scrollTo(0, 0))
    await drop(v, ['x.box.yaml', 'box: x'])
    await inViewport(v.region('Measured traces').getByRole('alert'))
    expect(await focused(v)).toContain('is no name for a trace')
  })

it('a file that cannot be read is read once it is said how', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  await drop(v, ['rows.csv', 'time (s),CH1 (V)\n0,0.1\n2,0.2\n1,0.3\n3,0.1\n'])
  const sheet = v.region('New trace')
  await expect.poll(() => sheet.getByRole('alert').innerText()).toContain('rows.csv')
  await sheet.getByLabel('column of times or frequencies').fill('none')
  await sheet.getByLabel('that column is').selectOption('time')
  await sheet.getByLabel('from row to row').fill('1 us')
  await sheet.getByLabel('column', { exact: true }).fill('CH1')
  await sheet.getByLabel('from', { exact: true }).fill('1 MHz')
  await sheet.getByLabel('to', { exact: true }).fill('3 MHz')
  await sheet.getByLabel('takes').fill('3 us')
  await expect.poll(() => sheet.innerText()).toContain('rms from the model')
  expect(await sheet.getByRole('alert').count()).toBe(0)
})

it('the labels of the page stand in messages for the keys of the file', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  await drop(v, ['db.csv', 'frequency (Hz),CH1 (dB)\n1e6,-30\n2e6,-10\n3e6,-20\n'])
  const sheet = v.region('New trace')
  await expect.poll(() => sheet.getByLabel('holds').inputValue()).toBe('dB')
  await sheet.getByLabel('holds').selectOption('waveform')
  await expect.poll(() => sheet.getByRole('alert').count()).toBe(1)
  await sheet.getByLabel('holds').selectOption('amplitude')
  await expect.poll(() => sheet.innerText()).toContain('rms from the model')
  await drop(v, ['two.csv', 'frequency (Hz),A (V),B (V)\n1e6,0.1,0.1\n2e6,0.3,0.2\n3e6,0.1,0.1\n'])
  await expect.poll(() => sheet.innerText()).toMatch(/two\.csv has 2 columns of values.*another: “column”/s)
  expect(await sheet.innerText()).not.toContain('`')
})

it('a second file takes the place of the first once it was read, and one is taken at a time', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  const sheet = v.region('New trace')
  const measured = v.region('Measured traces')
  await drop(v, ['m.csv', good], ['other.csv', good])
  await expect.poll(() => measured.innerText()).toContain('One trace is taken at a time: this is m.csv; other.csv must be dropped after it.')
  await sheet.getByLabel('call it').fill('by hand')
  await drop(v, ['bad.csv', 'hello\nworld\n'])
  await expect.poll(() => measured.getByRole('alert').innerText()).toContain('m.csv stays below as it is')
  expect(await sheet.getByLabel('call it').inputValue()).toBe('by hand')
  await drop(v, ['x.box.yaml', 'box: x'])
  await expect.poll(() => measured.getByRole('alert').innerText()).toContain('is no name for a trace')
  expect(await sheet.getByLabel('call it').inputValue()).toBe('by hand')
  await drop(v, ['bad.csv', 'hello\nworld\n'])
  await measured.getByRole('button', { name: 'Say how to read bad.csv instead' }).click()
  await expect.poll(() => sheet.getByRole('heading').first().innerText()).toBe('bad.csv')
  await drop(v, ['better.csv', good])
  await expect.poll(() => sheet.getByRole('heading').first().innerText()).toBe('better.csv')
})

it('a trace that is not kept yet stands in the main trace, while its sheet is open', async ({ stage }) => {
  const v = await stage.open(await stage.serve(stage.demo()), tern)
  const plain = (await v.told()).trace
  await drop(v, ['m.csv', good])
  await expect.poll(async () => (await v.told()).legend).toContain('○ m.csv')
  expect((await v.told()).trace).not.toBe(plain)
  await v.button('oscilloscope').click()
  await expect.poll(() => v.region('Trace').innerText()).toContain('this view has none')
  await v.button('dB').click()
  await v.region('New trace').getByRole('button', { name: 'Leave it' }).click()
  await v.page.mouse.move(1, 1)
  await expect.poll(async () => (await v.told()).trace).toBe(plain)
})
