// What is inside: values found from traces, what to measure next, and circuits held against each other.

import { circuit, oneKnob } from './oneknob'
import { inViewport } from './stage'
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
  expect((await v.changes()).join(' ')).toMatch(/L1 in Range short: 12\.\d+ µH/)
  expect(await inside.innerText()).not.toContain('found before the last change')
  await inside.getByRole('link', { name: 'Changed, not saved' }).click()
  const heading = v.region('Changes').getByRole('heading')
  expect(await heading.evaluate((h) => document.activeElement === h)).toBe(true)
  await inViewport(heading)
  // What the file marks as unknown is found again, though a number stands in its place.
  await inside.getByRole('button', { name: 'Find the values' }).click()
  await expect.poll(() => inside.locator('progress').count()).toBe(1)
  await expect.poll(() => inside.locator('progress').count(), { timeout: 30000 }).toBe(0)
  expect(await inside.getByRole('alert').count()).toBe(0)
  expect(await inside.locator('tbody tr', { hasText: 'L1 in Range short' }).innerText()).toMatch(/12\.\d+ µH/)
  expect(await v.changes()).toHaveLength(9)
  const measured = v.region('Measured traces')
  await measured.getByRole('checkbox', { name: 'long 2' }).check()
  await expect.poll(() => measured.innerText()).toMatch(/0\.\d\d dB rms from the model/)
  await v.button('Keep in the file').click()
  await expect.poll(() => folder.read('mole-head.box.yaml')).not.toContain('value: "?')
  await expect.poll(() => v.changes()).toEqual([])
  expect(folder.read('mole-head.box.yaml')).toMatch(/C3: .*value: "56\.\d+ pF", Q: 600\} {2}# C3 found \d{4}-\d\d-\d\d, 95 %: 5\d\.\d+ pF \.\. 5\d\.\d+ pF\n/)
  expect(folder.read('mole-head.box.yaml')).toMatch(/short: .*# L1 in Range short found .* uH; L2 in Range short found .* uH\n/)
  await inside.getByRole('button', { name: 'Find the values' }).click()
  await expect.poll(() => inside.innerText()).toContain('write a question mark before it')
  expect(await inside.getByRole('alert').count()).toBe(0)
  expect(await inside.locator('tbody tr', { hasText: 'L1 in Range short' }).count(), 'the old answer stays').toBe(1)
})

it('a warning comes before what was found, and a run that fails takes nothing away', async ({ stage }) => {
  stage.expect(/status of 422/)
  const v = await stage.open(await stage.serve(stage.demo()), mole)
  const inside = v.region('What is inside')
  const values = [{ name: 'C3', part: 'C3', field: 'value', value: 56e-12, low: 55e-12, high: 57e-12, determined: true, unit: 'F', text: '56 pF', why: '', by_profile: false, at_bound: false, path: ['parts', 'C3', 'value'], write: '56 pF' }]
  const found = { status: 'found', values, residual_rms: 16, starts: 32, starts_same: 30, degenerate: [], dials: [], measurements: [], warnings: ["what is left is 16.0 times what the traces' noise makes, and has a shape"] }
  await v.page.route('**/api/inside', (r) => r.fulfill({ contentType: 'application/x-ndjson', body: JSON.stringify({ done: 1, identified: found, nothing: '' }) + '\n' }))
  await inside.getByRole('button', { name: 'Find the values' }).click()
  await expect.poll(() => inside.locator('tbody tr').count()).toBeGreaterThan(0)
  const text = await inside.innerText()
  expect(text.indexOf('What is left is 16.0 times')).toBeGreaterThan(0)
  expect(text.indexOf('What is left is 16.0 times')).toBeLessThan(text.indexOf('Every value is determined.'))
  expect(text.match(/what is left/gi)).toHaveLength(1)
  expect(await inside.locator('strong').allInnerTexts()).toEqual(["What is left is 16.0 times what the traces' noise makes, and has a shape"])
  await v.page.unroute('**/api/inside')
  await v.page.route('**/api/inside', (r) => r.fulfill({ status: 422, json: { error: { message: 'the traces are gone', excerpt: '', file: '', line: 0, column: 0, inside: null } } }))
  await inside.getByRole('button', { name: 'Find the values' }).click()
  await expect.poll(() => inside.getByRole('alert').innerText()).toBe('The traces are gone')
  const [alert, table] = [await inside.getByRole('alert').boundingBox(), await inside.locator('table').first().boundingBox()]
  expect(alert?.y ?? NaN).toBeLessThan(table?.y ?? NaN)
})

it('the next measurement is proposed, and the box set for it', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), mole)
  const inside = v.region('What is inside')
  await inside.getByRole('button', { name: 'What to measure next' }).click()
  const first = inside.locator('ol li').first()
  await expect.poll(() => first.count(), { timeout: 40000 }).toBe(1)
  expect(await v.choice('connected:').inputValue()).toBe('bench-50.setup.yaml')
  // Each names its setup, and connects it.
  const probed = new Set<string>()
  for (const proposal of await inside.locator('ol li').all()) {
    const at = /Aerial ([0-9.]+)/.exec(await proposal.innerText())?.[1]
    const setup = (await proposal.innerText()).includes('oscilloscope probe') ? 'bench-probe.setup.yaml' : 'bench-50.setup.yaml'
    probed.add(setup)
    await proposal.getByRole('button').click()
    await expect.poll(async () => Number(await v.reading('Aerial'))).toBe(Number(at))
    await expect.poll(() => v.choice('connected:').inputValue()).toBe(setup)
    await expect.poll(() => v.address('setup')).toBe(setup.replace('.setup.yaml', ''))
    expect(await proposal.innerText()).not.toContain('none of the setups here')
  }
  expect(probed.size, 'two setups are proposed').toBe(2)
})

it('a comparison of circuits can be stopped', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), mole)
  const inside = v.region('What is inside')
  await inside.getByRole('button', { name: 'Compare circuits' }).click()
  await expect.poll(() => inside.innerText()).toContain('fitting many circuits')
  await expect.poll(() => inside.locator('progress').evaluate((p) => (p as HTMLProgressElement).value), { timeout: 30000 }).toBeGreaterThan(0)
  const focused = () => v.page.evaluate(() => document.activeElement?.textContent)
  expect(await focused()).toBe('Stop')
  await inside.getByRole('button', { name: 'Stop' }).click()
  expect(await inside.innerText()).not.toContain('fitting')
  expect(await inside.getByRole('status').innerText()).toContain('Stopped before there was an answer')
  await expect.poll(() => inside.getByRole('button', { name: 'Find the values' }).isEnabled()).toBe(true)
  await expect.poll(focused).toBe('Compare circuits')
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
