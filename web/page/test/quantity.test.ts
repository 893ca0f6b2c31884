import { describe, expect, it } from 'vitest'
import { decibel, degrees, hertz, impedance, noFrequency, none, percent, ratio, readFrequency, readTime, si, writeFrequency } from '../src/quantity'

// Prefixes after the SI Brochure (9th edition, table 7); a space between number and unit (section 5.4.3).
describe('si', () => {
  it.each([
    [2051420.096, 'Hz', 4, '2.051 MHz'],
    [999_960, 'Hz', 4, '1.000 MHz'],
    [999_940, 'Hz', 4, '999.9 kHz'],
    [94040.6, 'Hz', 3, '94.0 kHz'],
    [178e-12, 'F', 4, '178.0 pF'],
    [2.14e-5, 'H', 3, '21.4 µH'],
    [-0.0125, 'V', 3, '−12.5 mV'],
    [0, 'V', 4, '0 V'],
    [1, 'V', 4, '1.000 V'],
    [3e-19, 'W', 2, '0.00030 fW'],
    [5e15, 'Hz', 2, '5000 THz'],
  ])('%d %s in %d digits is %s', (value, unit, digits, text) => expect(si(value, unit, digits)).toBe(text))
  it('shows a dash for what does not exist', () => {
    for (const x of [null, undefined, NaN, Infinity]) expect([si(x, 'V'), hertz(x), decibel(x), degrees(x), percent(x), ratio(x)]).toEqual(Array(6).fill(none))
    expect(impedance(null, 3)).toBe(none)
  })
  it('keeps the value to its digits over every decade', () => {
    const scale: Record<string, number> = { f: 1e-15, p: 1e-12, n: 1e-9, µ: 1e-6, m: 1e-3, '': 1, k: 1e3, M: 1e6, G: 1e9, T: 1e12 }
    let rows = 0
    for (let e = -15; e <= 13; e++)
      for (const lead of [1, 1.2345, 4.9995, 9.9994, 9.9996]) {
        const value = lead * 10 ** e
        const m = /^([\d.]+) (.?)V$/.exec(si(value, 'V', 4))
        expect(m, String(value)).not.toBeNull()
        expect(Math.abs(Number(m?.[1]) * scale[m?.[2] ?? ''] - value) / value).toBeLessThan(5.1e-4)
        expect(Number(m?.[1])).toBeLessThan(1000)
        rows++
      }
    expect(rows).toBe(145)
  })
})

describe('small forms', () => {
  it('signs decibels, but not a zero', () => {
    expect([2.06, -3.94, 0.04, -0.04].map((x) => decibel(x))).toEqual(['+2.1 dB', '−3.9 dB', '0.0 dB', '0.0 dB'])
  })
  it('writes shares', () => {
    expect([0, 0.0004, 0.0213, 0.0996, 0.42, 1].map(percent)).toEqual(['0 %', '< 0.1 %', '2.1 %', '10 %', '42 %', '100 %'])
  })
  it('writes impedances under one prefix', () => {
    expect(impedance(94.04, -12.3)).toBe('94.0 − j12.3 Ω')
    expect(impedance(5.2, -2565)).toBe('5.20 − j2565 Ω')
    expect(impedance(15_000, 270)).toBe('15.0 + j0.27 kΩ')
    expect(impedance(1.5, 0)).toBe('1.50 + j0.00 Ω')
  })
  it('writes ratios and angles', () => {
    expect([21.814, 4.05, 0.0123, 12345.6].map(ratio)).toEqual(['21.8', '4.05', '0.0123', '12346'])
    expect([-50.44, -0.04].map(degrees)).toEqual(['−50.4°', '0.0°'])
  })
})

describe('frequencies', () => {
  it.each([
    ['2.31 MHz', 2.31e6],
    ['500kHz', 5e5],
    ['50 Hz', 50],
    ['1.2 GHz', 1.2e9],
    ['.5 MHz', 5e5],
    ['1e3 kHz', 1e6],
  ])('%s', (text, hz) => expect(readFrequency(text)).toBeCloseTo(hz, 3))
  it.each(['', 'MHz', '2 m', '2.31', '2,31 MHz', '1,000 kHz', '3 mHz', '2.31 mhz', '-1 MHz', '-1', '0', '1e400', '2.3.4', '1 MHz 2'])('refuses %j', (text) => expect(readFrequency(text)).toBeNull())
  it('says what is wrong with the others', () => {
    expect(noFrequency('2.31')).toBe('2.31 needs its unit: 2.31 MHz or 2.31 kHz?')
    expect(noFrequency(' 2,31 MHz')).toContain('behind a point')
    expect(noFrequency('')).toContain('like 1.53 MHz')
    expect(noFrequency('3 mHz')).toContain('3 mHz is no frequency')
  })
  it('come back as they were written', () => {
    for (const hz of [1, 50, 999.5, 12_345.678, 1e5, 2_051_420.096, 1.23456789e9]) {
      expect(Math.abs((readFrequency(writeFrequency(hz)) ?? 0) / hz - 1)).toBeLessThan(1e-8)
    }
  })
})

it('reads times with their unit', () => {
  expect(['200 ms', '1.5 s', '20us', '3 µs'].map(readTime)).toEqual([0.2, 1.5, 20e-6, 3e-6].map((t) => expect.closeTo(t, 12)))
  expect(['', '200', '-1 s', '0 s', '2 h', '1,5 s'].map(readTime)).toEqual([null, null, null, null, null, null])
})
