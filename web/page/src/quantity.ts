// Numbers as people write them. SI base units go in, prefixes come out; nothing here knows what a number means.

/** What stands where there is no number. */
export const none = '–'

const prefixes = ['f', 'p', 'n', 'µ', 'm', '', 'k', 'M', 'G', 'T']
const unity = prefixes.indexOf('')

const isNumber = (x: number | null | undefined): x is number => typeof x === 'number' && Number.isFinite(x)

/** A number with a true minus sign. */
const signed = (text: string) => text.replace('-', '−')

/** Significant digits without an exponent, for magnitudes from 0.001 to 9999. */
function significant(x: number, digits: number): string {
  if (x === 0) return '0'
  const rounded = Number(x.toPrecision(digits))
  const decimals = digits - 1 - Math.floor(Math.log10(Math.abs(rounded)))
  return rounded.toFixed(Math.min(Math.max(decimals, 0), 12))
}

/** A value with its SI prefix and unit, such as 2.051 MHz. */
export function si(value: number | null | undefined, unit: string, digits = 4): string {
  if (!isNumber(value)) return none
  if (value === 0) return `0 ${unit}`
  let step = Math.floor(Math.log10(Math.abs(value)) / 3)
  // 999.96 kHz in four digits is 1.000 MHz.
  if (Math.abs(Number((value / 10 ** (3 * step)).toPrecision(digits))) >= 1000) step++
  step = Math.min(Math.max(step, -unity), prefixes.length - 1 - unity)
  return `${signed(significant(value / 10 ** (3 * step), digits))} ${prefixes[step + unity]}${unit}`
}

export const hertz = (value: number | null | undefined, digits = 4) => si(value, 'Hz', digits)

/** Decibels with a sign, such as +2.1 dB. */
export function decibel(value: number | null | undefined, decimals = 1): string {
  if (!isNumber(value)) return none
  const text = value.toFixed(decimals)
  return `${Number(text) === 0 ? Math.abs(value).toFixed(decimals) : (value > 0 ? '+' : '') + signed(text)} dB`
}

/** The voltage of a level in decibels over 1 V. */
export const volts = (db: number | null | undefined) => (isNumber(db) ? si(10 ** (db / 20), 'V') : none)

export function degrees(value: number | null | undefined): string {
  return isNumber(value) ? `${signed(value.toFixed(1).replace(/^-0\.0$/, '0.0'))}°` : none
}

/** A share of a whole, such as 42 %. */
export function percent(fraction: number | null | undefined): string {
  if (!isNumber(fraction)) return none
  const p = fraction * 100
  if (p === 0) return '0 %'
  if (p > 0 && p < 0.1) return '< 0.1 %'
  return `${signed(Math.abs(p) < 9.95 ? p.toFixed(1) : p.toFixed(0))} %`
}

/** A plain ratio such as a Q, in three digits. */
export function ratio(value: number | null | undefined): string {
  if (!isNumber(value)) return none
  return Math.abs(value) >= 1000 ? signed(value.toFixed(0)) : signed(significant(value, 3))
}

/** An impedance, such as 94.0 − j12.3 Ω; both parts under one prefix. */
export function impedance(re: number | null | undefined, im: number | null | undefined): string {
  if (!isNumber(re) || !isNumber(im)) return none
  const size = Math.max(Math.abs(re), Math.abs(im))
  const [scale, unit] = size >= 1e6 ? [1e6, 'MΩ'] : size >= 1e4 ? [1e3, 'kΩ'] : [1, 'Ω']
  const part = (x: number) => {
    const a = Math.abs(x / scale)
    return a.toFixed(a >= 99.95 ? 0 : a >= 9.995 ? 1 : 2)
  }
  return `${re < 0 ? '−' : ''}${part(re)} ${im < 0 ? '−' : '+'} j${part(im)} ${unit}`
}

const units: Record<string, number> = { Hz: 1, kHz: 1e3, MHz: 1e6, GHz: 1e9 }

/** Reads a frequency with its unit, as the command does; null where it is none or not above zero. */
export function readFrequency(text: string): number | null {
  const m = /^\s*([0-9]*\.?[0-9]+(?:e[+-]?[0-9]+)?)\s*([A-Za-z]+)\s*$/.exec(text)
  const scale = m ? units[m[2]] : undefined
  if (!m || scale === undefined) return null
  const value = Number(m[1]) * scale
  return Number.isFinite(value) && value > 0 ? value : null
}

/** What is wrong with a text that readFrequency refuses. */
export function noFrequency(text: string): string {
  const t = text.trim()
  if (t === '') return 'write a frequency like 1.53 MHz'
  if (/^[0-9.]+$/.test(t)) return `${t} needs its unit: ${t} MHz or ${t} kHz?`
  if (/[0-9],[0-9]/.test(t)) return `${t}: write the decimals behind a point`
  return `${t} is no frequency; write one like 2.3 MHz`
}

const spans: Record<string, number> = { s: 1, ms: 1e-3, us: 1e-6, µs: 1e-6 }

/** Reads a time with its unit; null where it is none or not above zero. */
export function readTime(text: string): number | null {
  const m = /^\s*([0-9]*\.?[0-9]+(?:e[+-]?[0-9]+)?)\s*(s|ms|us|µs)\s*$/.exec(text)
  const value = m ? Number((Number(m[1]) * spans[m[2]]).toPrecision(12)) : NaN
  return Number.isFinite(value) && value > 0 ? value : null
}

/** A frequency to be edited: shorter than at full precision, and read back to the same within 1e-9. */
export function writeFrequency(hz: number): string {
  const [scale, unit] = hz >= 1e9 ? [1e9, 'GHz'] : hz >= 1e5 ? [1e6, 'MHz'] : hz >= 1e3 ? [1e3, 'kHz'] : [1, 'Hz']
  return `${Number((hz / scale).toPrecision(9))} ${unit}`
}
