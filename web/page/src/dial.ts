// The arithmetic of a dial: a reading between two printed stops, and the turn of the shaft between them. A scale may run
// backwards (100 at the anticlockwise stop, 0 at the clockwise one); turning clockwise then lowers the reading.

/** What is printed at the two stops. */
export interface Scale {
  from: number
  to: number
  percent: boolean
}

/** The whole travel of a dial as it is drawn, in degrees; it begins at lower left. */
export const travel = 270
export const firstAngle = -135

/** How far the pointer goes up for the whole travel, in pixels. */
export const dragLength = 200
/** How much slower everything is with Shift held. */
export const fine = 10

const clamp = (x: number) => Math.min(Math.max(x, 0), 1)

/** A reading, or the stop that it lies beyond. */
export const within = (scale: Scale, reading: number): number =>
  Math.min(Math.max(reading, Math.min(scale.from, scale.to)), Math.max(scale.from, scale.to))

/** Turn from 0 at the anticlockwise stop to 1 at the clockwise. */
export function turnOf(scale: Scale, reading: number): number {
  return scale.to === scale.from ? 0 : clamp((reading - scale.from) / (scale.to - scale.from))
}

/** One step of the arrow keys: about a hundredth of the scale, as a round number. */
export function stepOf(scale: Scale): number {
  const rough = Math.abs(scale.to - scale.from) / 100
  if (!(rough > 0)) return 1
  const decade = 10 ** Math.floor(Math.log10(rough) + 1e-9)
  const lead = rough / decade
  return (lead >= 5 - 1e-9 ? 5 : lead >= 2 - 1e-9 ? 2 : 1) * decade
}

/** The reading at a turn, rounded to a tenth of a step; the stops are exact. */
export function readingAt(scale: Scale, turn: number): number {
  if (turn <= 0) return scale.from
  if (turn >= 1) return scale.to
  return tidy(scale, scale.from + (scale.to - scale.from) * turn)
}

/** A reading kept within the stops and rounded to a tenth of a step. */
export function tidy(scale: Scale, reading: number): number {
  const grain = stepOf(scale) / fine
  return within(scale, Number((Math.round(reading / grain) * grain).toPrecision(12)))
}

/** The reading some steps clockwise (or, with a negative number, anticlockwise). */
export function stepped(scale: Scale, reading: number, steps: number): number {
  return tidy(scale, reading + Math.sign(scale.to - scale.from) * steps * stepOf(scale))
}

/** The reading after a key, or null where the key is none of the dial's. */
export function keyed(scale: Scale, reading: number, key: string, shift: boolean): number | null {
  const one = shift ? 1 / fine : 1
  switch (key) {
    case 'ArrowUp':
    case 'ArrowRight':
      return stepped(scale, reading, one)
    case 'ArrowDown':
    case 'ArrowLeft':
      return stepped(scale, reading, -one)
    case 'PageUp':
      return stepped(scale, reading, 10)
    case 'PageDown':
      return stepped(scale, reading, -10)
    case 'Home':
      return scale.from
    case 'End':
      return scale.to
    default:
      return null
  }
}

/** Change of turn for a pointer that moved up by some pixels. */
export const turnByHeight = (up: number, shift: boolean) => up / dragLength / (shift ? fine : 1)

/** Change of turn for a pointer that went round the centre; places are relative to it, y downwards. */
export function turnByAngle(x0: number, y0: number, x1: number, y1: number, shift: boolean): number {
  let degrees = ((Math.atan2(y1, x1) - Math.atan2(y0, x0)) * 180) / Math.PI
  if (degrees > 180) degrees -= 360
  if (degrees < -180) degrees += 360
  return degrees / travel / (shift ? fine : 1)
}

/**
 * Whether a drag goes round the dial: it starts near the rim and its first move goes along it. Every other drag is
 * measured by its height alone.
 */
export function goesRound(x: number, y: number, dx: number, dy: number, radius: number): boolean {
  const far = Math.hypot(x, y)
  if (far < 0.6 * radius) return false
  return Math.abs(x * dy - y * dx) > Math.abs(x * dx + y * dy)
}

/** A reading as it stands on the scale. */
export function readingText(scale: Scale, reading: number): string {
  const decimalsOf = (x: number) => Math.max(0, -Math.floor(Math.log10(x) + 1e-9))
  const coarse = decimalsOf(stepOf(scale))
  const exact = Number(reading.toFixed(decimalsOf(stepOf(scale) / fine)))
  const needed = (String(exact).split('.')[1] ?? '').length
  return exact.toFixed(Math.min(Math.max(coarse, needed), 20)).replace('-', '−') + (scale.percent ? ' %' : '')
}

/** Reads a typed reading; null where it is no number. */
export function readReading(text: string): number | null {
  const plain = text.trim().replace(/%$/, '').replace(',', '.').replace('−', '-').trim()
  const value = Number(plain)
  return plain !== '' && Number.isFinite(value) ? value : null
}
