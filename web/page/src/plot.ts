// How the trace is drawn: which numbers, which axes. Nothing here computes what the numbers mean.

import type uPlot from 'uplot'
import type { Span, Sweep } from './api'
import type { View } from './address'
import type { Beside } from './model.svelte'

type Column = (number | null)[]

export type Curves = Exclude<View, 'smith' | 'screen'>

/** The column of a sweep that a view shows, and its straight-through line where there is one. */
export function columns(sweep: Sweep, view: Curves): { now: Column; straight: Column | null } {
  switch (view) {
    case 'dB':
      // Insertion gain is counted from the straight-through line itself.
      return { now: sweep.insertion_gain_db, straight: sweep.frequency_hz.map((f) => (f === null ? null : 0)) }
    case 'volts':
      return { now: sweep.load_v, straight: sweep.straight_v }
    case 'phase':
      return { now: unwrapped(sweep.load_phase_deg), straight: null }
  }
}

/** Breaks the line where the angle jumps round the back. */
function unwrapped(phase: Column): Column {
  return phase.map((p, i) => {
    const before = i > 0 ? phase[i - 1] : null
    return p !== null && before !== null && Math.abs(p - before) > 180 ? null : p
  })
}

/** Everything that is drawn over one row of frequencies: frequency, straight, the traces beside, now on top. */
export function rows(sweep: Sweep, beside: Beside[], view: Curves): uPlot.AlignedData {
  const f = sweep.frequency_hz as number[]
  const { now, straight } = columns(sweep, view)
  const empty: Column = f.map(() => null)
  // A pin's answer for the last range is not drawn over another.
  const fits = (s: Sweep | null) =>
    s !== null && s.frequency_hz.length === f.length && s.frequency_hz[0] === f[0] && s.frequency_hz.at(-1) === f.at(-1)
  const thin = beside.map((b) => {
    const column = b.sweep && fits(b.sweep) ? columns(b.sweep, view).now : empty
    return column.length === f.length ? column : empty // it was asked for another view
  })
  return [f, straight ?? empty, ...thin, now]
}

export interface Colours {
  panel: string
  ink: string
  muted: string
  hairline: string
  now: string
  straight: string
  pinned: string
}

export function coloursOf(element: Element): Colours {
  const style = getComputedStyle(element)
  const v = (name: string) => style.getPropertyValue('--' + name).trim()
  return { panel: v('panel'), ink: v('ink'), muted: v('muted'), hairline: v('hairline'), now: v('now'), straight: v('straight'), pinned: v('pinned') }
}

/** Dashes that tell pins apart without colour. */
export const pinDash = (nth: number): number[] => [[], [2, 3], [8, 3], [8, 3, 2, 3]][nth % 4]

/** Frequencies where a log axis over little more than an octave still has marks. */
export function logSplits(min: number, max: number): number[] {
  if (max / min < 4) return niceSplits(min, max, 7)
  const lead = max / min > 60 ? [1] : max / min > 20 ? [1, 2, 5] : [1, 1.5, 2, 3, 5, 7]
  const out: number[] = []
  for (let d = Math.floor(Math.log10(min)); d <= Math.ceil(Math.log10(max)); d++)
    for (const l of lead) {
      const f = Number((l * 10 ** d).toPrecision(3))
      if (f >= min * (1 - 1e-9) && f <= max * (1 + 1e-9)) out.push(f)
    }
  return out
}

/** About `count` round numbers from min to max. */
export function niceSplits(min: number, max: number, count: number): number[] {
  const rough = (max - min) / count
  if (!(rough > 0)) return [min]
  const decade = 10 ** Math.floor(Math.log10(rough))
  const step = [1, 2, 5, 10].map((l) => l * decade).find((s) => s >= rough * 0.999) ?? 10 * decade
  const out: number[] = []
  for (let i = Math.ceil(min / step - 1e-9); i * step <= max + step * 1e-9; i++) out.push(Number((i * step).toPrecision(12)))
  return out
}

/** Marks of an axis under one prefix, with as many decimals as they need. */
function marksOf(values: number[], scale: number): string[] {
  let decimals = 0
  const gap = values.length > 1 ? Math.abs(values[1] - values[0]) / scale : 1
  while (decimals < 9 && Math.abs(gap * 10 ** decimals - Math.round(gap * 10 ** decimals)) > 1e-6) decimals++
  return values.map((v) => (v / scale).toFixed(decimals).replace('-', '−'))
}

/** Marks of plain numbers. */
export const numberMarks = (values: number[]): string[] => marksOf(values, 1)

const logMarks = (values: number[], scale: number) => values.map((v) => String(Number((v / scale).toPrecision(6))))

const prefixOf = (max: number): [number, string] =>
  max >= 1e9 ? [1e9, 'GHz'] : max >= 1e6 ? [1e6, 'MHz'] : max >= 1e3 ? [1e3, 'kHz'] : [1, 'Hz']

/** Marks of an axis of frequencies up to max; the last names the unit. */
export function hertzMarks(values: number[], max: number, log: boolean): string[] {
  const [scale, unit] = prefixOf(max)
  const text = log ? logMarks(values, scale) : marksOf(values, scale)
  return text.map((m, i) => (i === values.length - 1 ? `${m} ${unit}` : m))
}

function voltPrefix(max: number): [number, string] {
  return max >= 1 ? [1, 'V'] : max >= 1e-3 ? [1e-3, 'mV'] : max >= 1e-6 ? [1e-6, 'µV'] : [1e-9, 'nV']
}

function top(max: number): number {
  if (!(max > 0)) return 1
  const decade = 10 ** Math.floor(Math.log10(max))
  return ([1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10].find((l) => l * decade >= max * 1.03) ?? 12) * decade
}

/** The oscilloscope's time beside the frequency: the generator runs from one to the other in this time, in s. */
export interface TimeAxis {
  from: number
  to: number
  time: number
}

export interface Plan {
  view: Curves
  span: Span
  beside: Beside['kind'][]
  time: TimeAxis | null
  colours: Colours
  font: string
  width: number
  height: number
}

/** What a plan has that needs a new plot rather than new numbers. */
export const signature = (p: Plan) => JSON.stringify([p.view, p.span.log, p.beside, p.time, p.colours])

const title: Record<Curves, string> = { dB: 'insertion gain, dB', volts: 'volts at the load', phase: 'phase at the load, degrees' }
export const titleOf = (view: Curves) => title[view]

/** The axes, scales and lines of a plot; the caller adds what answers to the pointer. */
export function options(p: Plan): Omit<uPlot.Options, 'hooks' | 'cursor'> {
  const c = p.colours
  const common = { stroke: c.muted, font: p.font, grid: { stroke: c.hairline, width: 1 }, ticks: { stroke: c.hairline, width: 1, size: 4 } }
  const y: Record<Curves, Partial<uPlot.Axis>> = {
    dB: { incrs: [0.5, 1, 3, 6, 12, 24], values: (_, splits) => marksOf(splits, 1) },
    volts: {
      values: (u, splits) => {
        const [scale, unit] = voltPrefix(u.scales.y.max ?? 1)
        return marksOf(splits, scale).map((m, i) => (i === splits.length - 1 ? `${m} ${unit}` : m))
      },
    },
    phase: { incrs: [15, 45, 90], values: (_, splits) => marksOf(splits, 1).map((m) => m + '°') },
  }
  const range: Record<Curves, uPlot.Range.Function> = {
    dB: (_u, min, max) => {
      const high = Math.ceil(((max ?? 0) + 0.5) / 6) * 6
      return [Math.min(Math.max(Math.floor(((min ?? 0) - 0.5) / 6) * 6, high - 96), high - 12), high]
    },
    volts: (_u, _min, max) => [0, top(max ?? 0)],
    phase: () => [-180, 180],
  }
  const axes: uPlot.Axis[] = [
    {
      ...common,
      size: 34,
      ...(p.span.log ? { splits: (_u, _i, min, max) => logSplits(min, max), filter: (_u, splits) => splits } : { space: 80 }),
      values: (u, splits) => hertzMarks(splits, u.scales.x.max ?? 1, p.span.log),
    },
    { ...common, size: 58, ...y[p.view] },
  ]
  if (p.time) {
    const { from, to, time } = p.time
    const at = (t: number) => from + (t / time) * (to - from)
    const when = (f: number) => ((f - from) / (to - from)) * time
    axes.push({
      ...common,
      scale: 'x',
      side: 0,
      size: 30,
      grid: { show: false },
      splits: (_u, _i, min, max) => niceSplits(when(min), when(max), 8).map(at),
      values: (_u, splits) => marksOf(splits.map(when), 1e-3).map((m, i) => (i === splits.length - 1 ? `${m} ms` : m)),
    })
  }
  const pxAlign = 0 // at about one pixel per point a rounded curve looks like stairs
  // A gap is a little wider than the step that it hides, whose line would show as a hair on either side.
  const gaps: uPlot.Series.GapsRefiner = (_u, _s, _a, _b, found) => found.map(([from, to]) => [from - 2, to + 2])
  let pins = 0
  return {
    width: p.width,
    height: p.height,
    padding: [12, 30, 0, 0],
    legend: { show: false },
    pxAlign,
    scales: { x: { time: false, distr: p.span.log ? 3 : 1, range: (_u, min, max) => [min, max] }, y: { range: range[p.view] } },
    axes,
    series: [
      {},
      { stroke: c.straight, width: 1.6, dash: [7, 4], points: { show: false }, pxAlign },
      ...p.beside.map((kind) =>
        kind === 'pinned'
          ? { stroke: c.pinned, width: 1.3, dash: pinDash(pins++), points: { show: false }, pxAlign, gaps }
          : { stroke: c.ink, width: 1.2, dash: [3, 3], points: { show: false }, pxAlign, gaps },
      ),
      { stroke: c.now, width: 2.6, points: { show: false }, pxAlign, gaps },
    ],
  }
}

/** A narrower or wider range about a fixed frequency; factor below 1 zooms in. */
export function zoomed(span: Span, about: number, factor: number): Span {
  const k = span.log ? Math.log : (x: number) => x
  const back = span.log ? Math.exp : (x: number) => x
  const from = back(k(about) + (k(span.from_hz) - k(about)) * factor)
  const to = back(k(about) + (k(span.to_hz) - k(about)) * factor)
  return within({ ...span, from_hz: from, to_hz: to })
}

/** The range moved by a part of its own width; above 0 towards higher frequencies. */
export function moved(span: Span, part: number): Span {
  if (span.log) {
    const r = (span.to_hz / span.from_hz) ** part
    return within({ ...span, from_hz: span.from_hz * r, to_hz: span.to_hz * r })
  }
  const d = (span.to_hz - span.from_hz) * part
  if (span.from_hz + d <= 0) return span
  return within({ ...span, from_hz: span.from_hz + d, to_hz: span.to_hz + d })
}

/** A range that can be asked for: above zero, of some width, in numbers that are short in the address. */
export function within(span: Span): Span {
  const tidy = (f: number) => Number(f.toPrecision(7))
  const from = tidy(Math.max(span.from_hz, 1))
  const to = tidy(Math.min(span.to_hz, 1e11))
  return to > from * (1 + 2e-6) ? { ...span, from_hz: from, to_hz: to } : { ...span, from_hz: from, to_hz: tidy(from * (1 + 1e-5)) }
}

/** How the dots of a measured trace are drawn: outlines about 0 0 of some 3 pixels, and the sign in a text. */
export function markOf(n: number): { sign: string; outline: [number, number][] | null } {
  const marks: { sign: string; outline: [number, number][] | null }[] = [
    { sign: '○', outline: null }, // a circle
    { sign: '□', outline: [[-2.6, -2.6], [2.6, -2.6], [2.6, 2.6], [-2.6, 2.6]] },
    { sign: '△', outline: [[0, -3.4], [3.2, 2.4], [-3.2, 2.4]] },
    { sign: '◇', outline: [[0, -3.6], [3.6, 0], [0, 3.6], [-3.6, 0]] },
  ]
  return marks[n % marks.length]
}

/** The least of 1, 2 and 5 times a power of ten that is not below a value: what a division of a screen is worth. */
export function division(value: number): number {
  if (!(value > 0)) return 1
  const decade = 10 ** Math.floor(Math.log10(value) + 1e-9)
  return ([1, 2, 5, 10].find((m) => m * decade >= value * (1 - 1e-9)) ?? 10) * decade
}
