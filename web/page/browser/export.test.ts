// Exports, read back and compared with what the page shows.

import { inflateSync } from 'node:zlib'
import type { Sweep } from '../src/api'
import { decibel, degrees, hertz, si } from '../src/quantity'
import type { Visit } from './stage'
import { expect, it } from './test'

const box = 'tern-point.box.yaml'
const setup = 'bench-50.setup.yaml'
const query = '?box=tern-point&setup=bench-50&knob.Input=6.25&from=1000000&to=3000000&points=201&cursor=1800000&reject=1530000'
const asked = { box, setup, setting: { Input: 6.25 }, span: { from_hz: 1e6, to_hz: 3e6, points: 201, log: false }, cursor_hz: 1.8e6, reject_hz: [1.53e6] }
const columns = ['frequency_hz', 'load_v', 'load_phase_deg', 'straight_v', 'insertion_gain_db', 'transducer_gain_db', 'input_mismatch_db', 'dissipation_db', 'zin_re_ohm', 'zin_im_ohm', 'zout_re_ohm', 'zout_im_ohm'] as const

/** Reads a picture as XML, in an empty page: the bench's own may not parse markup. */
async function readSvg(v: Visit, text: string) {
  const reader = await v.page.context().newPage()
  const read = await reader.evaluate((text) => {
    const xml = new DOMParser().parseFromString(text, 'image/svg+xml')
    const count = (what: string) => xml.querySelectorAll(what).length
    return {
      root: xml.documentElement.namespaceURI,
      viewBox: xml.documentElement.getAttribute('viewBox'),
      about: xml.querySelector('desc')?.textContent ?? '',
      broken: count('parsererror'),
      paths: count('path'),
      scripts: count('script, foreignObject'),
    }
  }, text)
  await reader.close()
  return read
}

it('CSV has the numbers of the page, row by row', async ({ stage }) => {
  const served = await stage.shared()
  const v = await stage.open(served, query)
  const { name, data } = await v.exported('Table of the trace, CSV')
  expect(name).toBe('tern-point.csv')
  const [head, ...rows] = data.toString('utf8').trimEnd().split('\n').map((line) => line.split(','))
  expect(new Set(head)).toEqual(new Set(columns))
  expect(rows).toHaveLength(201)
  const { sweep } = await served.sweep(asked)
  for (const column of columns) {
    const at = head.indexOf(column)
    expect(rows.map((r) => (r[at] === '' ? null : Number(r[at]))), column).toEqual(sweep[column])
  }
  // And what stands below the trace at the pointer is that row.
  const place = await v.place(0.35)
  await v.page.mouse.move(place.x, place.y)
  await expect.poll(() => v.page.locator('.under').innerText()).not.toContain(hertz(1.8e6, 5))
  const told = await v.page.locator('.under').innerText()
  const row = rows.find((r) => told.startsWith(hertz(Number(r[head.indexOf('frequency_hz')]), 5)))
  const cell = (column: (typeof columns)[number]) => Number(row?.[head.indexOf(column)])
  expect(told).toContain(`${decibel(cell('insertion_gain_db'), 2)} · ${si(cell('load_v'), 'V')} · ${degrees(cell('load_phase_deg'))}`)
  expect(told).toContain(si(cell('straight_v'), 'V'))
})

it('JSON has the numbers of the page, its readings and its power budget', async ({ stage }) => {
  const served = await stage.shared()
  const v = await stage.open(served, query)
  const { name, data } = await v.exported('All results, JSON')
  expect(name).toBe('tern-point.json')
  const read = JSON.parse(data.toString('utf8')) as Sweep
  const { sweep } = await served.sweep(asked)
  for (const column of columns) expect(read[column], column).toEqual(sweep[column])
  expect(read.readings).toEqual(sweep.readings)
  expect(read.power_budget).toEqual(sweep.power_budget)
  expect(read.setting).toMatchObject({ Input: 6.25 })
  const told = await v.region('Readings').innerText()
  const peak = read.features.find((f) => f.trace === 'insertion_gain_db')
  expect(told).toContain(hertz(peak?.peak_hz))
  expect(told).toContain(decibel(peak?.peak_db))
  expect(told).toContain(si(read.readings[0].load_v, 'V'))
})

it('SVG is well-formed, in the colours of the theme, and names the box', async ({ stage }) => {
  const served = await stage.shared()
  const grounds = new Set<string>()
  for (const scheme of ['light', 'dark'] as const) {
    const v = await stage.open(served, query, { scheme })
    const { name, data } = await v.exported('Picture of the trace, SVG')
    expect(name).toBe('tern-point.svg')
    const text = data.toString('utf8')
    const read = await readSvg(v, text)
    expect(read).toMatchObject({ root: 'http://www.w3.org/2000/svg', broken: 0, scripts: 0 })
    expect(read.paths).toBeGreaterThan(5)
    expect(text).toContain('Tern Point coupler')
    grounds.add(text)
  }
  expect(grounds.size).toBe(2)
})

it('the circuit is exported as it stands on the page', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), query + '&switch.Range=short')
  const { name, data } = await v.exported('Drawing of the circuit, SVG')
  expect(name).toBe('tern-point-circuit.svg')
  const read = await readSvg(v, data.toString('utf8'))
  expect(read).toMatchObject({ root: 'http://www.w3.org/2000/svg', broken: 0, scripts: 0 })
  const drawn = v.region('Signal line').locator('svg').first()
  expect(read.viewBox).toBe(await drawn.getAttribute('viewBox'))
  expect(read.about).toBe(await drawn.getAttribute('aria-label'))
  expect(read.about).toContain('Range short, Input 6.25')
})

it('PNG has its signature, a size, and all its pixels', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), query)
  const { name, data } = await v.exported('Picture of the trace, PNG')
  expect(name).toBe('tern-point.png')
  // PNG specification (third edition): signature 5.2, chunks 5.3, IHDR 11.2.1, filter bytes 7.3.
  expect(data.subarray(0, 8)).toEqual(Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]))
  const chunks: { type: string; body: Buffer }[] = []
  for (let at = 8; at < data.length; ) {
    const length = data.readUInt32BE(at)
    chunks.push({ type: data.toString('latin1', at + 4, at + 8), body: data.subarray(at + 8, at + 8 + length) })
    at += 12 + length
  }
  expect(chunks[0].type).toBe('IHDR')
  expect(chunks.at(-1)?.type).toBe('IEND')
  const [width, height, depth, kind] = [chunks[0].body.readUInt32BE(0), chunks[0].body.readUInt32BE(4), chunks[0].body[8], chunks[0].body[9]]
  expect(width).toBeGreaterThan(600)
  expect(height).toBeGreaterThan(300)
  const samples = { 0: 1, 2: 3, 3: 1, 4: 2, 6: 4 }[kind] ?? NaN
  const pixels = inflateSync(Buffer.concat(chunks.filter((c) => c.type === 'IDAT').map((c) => c.body)))
  expect(pixels.length).toBe(height * (1 + Math.ceil((width * samples * depth) / 8)))
})

it('PDF has its header, its end, and a page', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), query)
  const { name, data } = await v.exported('Picture of the trace, PDF')
  expect(name).toBe('tern-point.pdf')
  const text = data.toString('latin1')
  // ISO 32000-1: header 7.5.2, trailer with the place of the cross-reference table 7.5.5.
  expect(text.slice(0, 8)).toMatch(/^%PDF-1\.\d/)
  const start = Number(/startxref\s+(\d+)\s+%%EOF\s*$/.exec(text)?.[1])
  expect(text.slice(start, start + 12)).toMatch(/^(xref|\d+ \d+ obj)/)
  expect(text.match(/\/Type\s*\/Page\b/g)).toHaveLength(1)
})

it('the .s2p file is a passive reciprocal two-port to the reference of the page', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), query + '&view=smith&reference=75')
  const { name, data } = await v.exported('Box as a two-port, Touchstone .s2p')
  expect(name).toBe('tern-point.s2p')
  // Touchstone File Format Specification, version 1.1: option line and the order S11 S21 S12 S22.
  const lines = data.toString('ascii').trimEnd().split('\n').map((line) => line.trim())
  const option = lines.find((line) => line.startsWith('#'))?.split(/\s+/) ?? []
  expect(option.slice(2, 3)).toEqual(['S'])
  expect(option.slice(-2)).toEqual(['R', '75'])
  const unit = { HZ: 1, KHZ: 1e3, MHZ: 1e6, GHZ: 1e9 }[option[1].toUpperCase()] ?? NaN
  const form = option[3].toUpperCase()
  const rows = lines.filter((line) => line !== '' && !/^[!#]/.test(line)).map((line) => line.split('!')[0].trim().split(/\s+/).map(Number))
  expect(rows).toHaveLength(201)
  expect(rows[0][0] * unit).toBeCloseTo(1e6, 0)
  expect(rows.at(-1)?.[0]).toBeCloseTo(3e6 / unit, 6)
  const complex = (a: number, b: number): [number, number] => {
    const [size, angle] = [form === 'DB' ? 10 ** (a / 20) : a, (b * Math.PI) / 180]
    return form === 'RI' ? [a, b] : [size * Math.cos(angle), size * Math.sin(angle)]
  }
  const power = ([re, im]: [number, number]) => re * re + im * im
  for (const row of rows) {
    expect(row).toHaveLength(9)
    expect(row.every(Number.isFinite)).toBe(true)
    const [s11, s21, s12, s22] = [1, 3, 5, 7].map((i) => complex(row[i], row[i + 1]))
    expect(Math.hypot(s21[0] - s12[0], s21[1] - s12[1])).toBeLessThan(1e-6) // reciprocity
    expect(power(s11) + power(s21)).toBeLessThanOrEqual(1 + 1e-6) // no power comes from nowhere
    expect(power(s22) + power(s12)).toBeLessThanOrEqual(1 + 1e-6)
  }
})

it('exports have what is changed and not saved', async ({ stage }) => {
  const served = await stage.shared()
  const v = await stage.open(served, query)
  const plain = (await v.exported('Table of the trace, CSV')).data.toString()
  await v.whatIf('C3', 'value', '220 pF')
  const changed = (await v.exported('Table of the trace, CSV')).data.toString()
  expect(changed).not.toBe(plain)
  const { sweep } = await served.sweep({ ...asked, changes: [{ path: ['parts', 'C3', 'value'], text: '220 pF', remove: false }] })
  const [head, first] = changed.split('\n').map((line) => line.split(','))
  expect(Number(first[head.indexOf('insertion_gain_db')])).toBe(sweep.insertion_gain_db[0])
})

it('the menu of exports opens and closes with the keyboard', async ({ stage }) => {
  const v = await stage.open(await stage.shared(), query)
  const summary = v.page.locator('summary', { hasText: 'Export' })
  await summary.focus()
  await v.page.keyboard.press('Enter')
  await v.button('Picture of the trace, SVG').waitFor()
  await v.page.keyboard.press('Tab')
  await v.page.keyboard.press('Escape')
  await expect.poll(() => v.button('Picture of the trace, SVG').isVisible()).toBe(false)
  expect(await summary.evaluate((s) => s === document.activeElement)).toBe(true)
})
