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
