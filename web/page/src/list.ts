// Lists of frequencies as a person writes them: "1.2 MHz, 1.9 MHz" or "1 MHz .. 5 MHz in 9".

import type { Span } from './api'
import { noFrequency, readFrequency, writeFrequency } from './quantity'

const most = 400

/** Reads a list; the answer is the frequencies in Hz, or what is wrong. */
export function readFrequencies(text: string): number[] | string {
  const out: number[] = []
  for (const part of text.split(/[;\n]|,(?![0-9])|(?<=[A-Za-z]\s*),/).map((p) => p.trim()).filter((p) => p !== '')) {
    const range = /^(.+?)\s*\.\.\s*(.+?)(?:\s+in\s+(\d+))?$/.exec(part)
    if (range) {
      const [from, to, n] = [readFrequency(range[1]), readFrequency(range[2]), Number(range[3] ?? 9)]
      if (from === null || to === null) return `${part} is no range; write one like 1 MHz .. 5 MHz in 9`
      if (!(n >= 2)) return `${part}: at least 2 lines`
      for (let i = 0; i < Math.min(n, most + 1); i++) out.push(from + ((to - from) * i) / (n - 1))
      continue
    }
    const hz = readFrequency(part)
    if (hz === null) return noFrequency(part)
    out.push(hz)
  }
  if (out.length === 0) return 'name some frequencies, like 1.2 MHz, 1.9 MHz'
  return out.length > most ? `at most ${most} frequencies` : out
}

/** A list to begin with: a range over what is looked at. */
export const writeFrequencies = (span: Span, n: number): string => `${writeFrequency(span.from_hz)} .. ${writeFrequency(span.to_hz)} in ${n}`
