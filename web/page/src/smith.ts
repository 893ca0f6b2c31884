// The chart of P. H. Smith (Electronics, January 1939): an impedance Z drawn at the complex number (Z − R)/(Z + R), R the
// reference. This is a way to draw, as a logarithmic axis is one; the impedances come from the server.

export interface Place {
  x: number // to the right, −1 to 1
  y: number // upwards
}

/** Where an impedance in ohm lies; null where it does not exist. */
export function place(re: number | null, im: number | null, reference: number): Place | null {
  if (re === null || im === null) return null
  const d = (re + reference) ** 2 + im ** 2
  if (!(d > 0)) return null
  return { x: (re * re - reference * reference + im * im) / d, y: (2 * im * reference) / d }
}

/** Path data through places in a square of this half side; gaps where there is none. */
export function path(places: (Place | null)[], half: number): string {
  let open = false
  return places
    .map((p) => {
      if (!p) {
        open = false
        return ''
      }
      const step = `${open ? 'L' : 'M'}${(p.x * half).toFixed(2)} ${(-p.y * half).toFixed(2)}`
      open = true
      return step
    })
    .join('')
}

/** The circle of equal resistance r (in references). */
export const resistance = (r: number) => ({ cx: r / (1 + r), cy: 0, radius: 1 / (1 + r) })
/** The circle of equal reactance x (in references), of which the part inside the unit circle is drawn. */
export const reactance = (x: number) => ({ cx: 1, cy: 1 / x, radius: Math.abs(1 / x) })

/** A name beside a place, centred at x, y in the unit circle. */
export interface Tag extends Place {
  hz: number | null
}

/** Half the width and height of a name, in radii. */
export const tagSize = { x: 0.16, y: 0.035 }

/** Names beside the ends of a trace, each where the trace, the marked place and the other name are farthest. */
export function tags(trace: (Place | null)[], frequencies: (number | null)[], marked: Place | null): Tag[] {
  const out: Tag[] = []
  const last = trace.length - 1
  const inTheWay = trace.filter((p) => p !== null)
  if (marked) inTheWay.push(marked)
  for (const i of last > 0 ? [0, last] : []) {
    const end = trace[i]
    if (!end) continue
    let best: Tag | null = null
    let bestFree = -1
    // Near places first: one farther away must be freer.
    for (const far of [1, 1.9, 2.8])
      for (const dx of [-1.25, 0, 1.25])
        for (const dy of [-2.4 * far, 0, 2.4 * far]) {
          const tag = { x: end.x + dx * tagSize.x, y: end.y + dy * tagSize.y, hz: frequencies[i] ?? null }
          if (Math.abs(tag.x) + tagSize.x > 1.15 || Math.abs(tag.y) + tagSize.y > 1.1) continue
          const others = [...inTheWay.map((p) => clearance(tag, p, 1)), ...out.map((t) => clearance(tag, t, 2))]
          const free = Math.min(0.03, ...others)
          if (free > bestFree) [best, bestFree] = [tag, free]
        }
    if (best) out.push(best)
  }
  return out
}

/** How far a place is from a name's rectangle (made `times` as large); 0 inside it. */
export function clearance(tag: Place, p: Place, times: number): number {
  return Math.hypot(Math.max(Math.abs(p.x - tag.x) - times * tagSize.x, 0), Math.max(Math.abs(p.y - tag.y) - times * tagSize.y, 0))
}
