import { describe, expect, it } from 'vitest'
import { clearance, path, place, reactance, resistance, tags, tagSize, type Place } from '../src/smith'

describe('the chart of P. H. Smith', () => {
  // Landmarks of the chart (P. H. Smith, Electronics, January 1939; any textbook).
  const landmarks: [number, number, number, number][] = [
    [50, 0, 0, 0], // the reference in the middle
    [0, 0, -1, 0], // a short at the left
    [0, 50, 0, 1], // +j1 on top
    [0, -50, 0, -1],
    [100, 0, 1 / 3, 0],
    [25, 0, -1 / 3, 0],
    [50, 50, 0.2, 0.4],
  ]
  for (const [re, im, x, y] of landmarks)
    it(`${re} + j${im} ohm`, () => {
      const p = place(re, im, 50)
      expect(p?.x).toBeCloseTo(x, 12)
      expect(p?.y).toBeCloseTo(y, 12)
    })
  it('draws equal resistance and reactance as circles', () => {
    let checked = 0
    for (const r of [0.2, 1, 5])
      for (const x of [-5, -0.5, 0.5, 2]) {
        const p = place(50 * r, 50 * x, 50) as Place
        for (const c of [resistance(r), reactance(x)]) {
          expect(Math.hypot(p.x - c.cx, p.y - c.cy)).toBeCloseTo(c.radius, 12)
          checked++
        }
      }
    expect(checked).toBe(24)
  })
  it('has no place for what does not exist', () => {
    expect(place(null, 3, 50)).toBeNull()
    expect(place(-50, 0, 50)).toBeNull()
    expect(path([null, { x: 0, y: 0 }, null, { x: 1, y: 0 }, { x: 0, y: 1 }], 10)).toBe('M0.00 0.00M10.00 0.00L0.00 -10.00'.replaceAll('-0.00', '0.00'))
  })
  it('names the ends where nothing else is', () => {
    for (const around of [0, 0.5, 0.97]) {
      const trace = Array.from({ length: 101 }, (_, i) => ({ x: around + 0.02 * Math.cos(i / 18), y: 0.02 * Math.sin(i / 18) }))
      const marked = { x: around, y: 0.02 }
      const [a, b] = tags(trace, trace.map((_, i) => i), marked)
      expect([a.hz, b.hz]).toEqual([0, 100])
      for (const t of [a, b]) for (const p of [...trace, marked]) expect(clearance(t, p, 1)).toBeGreaterThan(0)
      expect(Math.abs(a.x - b.x) > 2 * tagSize.x || Math.abs(a.y - b.y) > 2 * tagSize.y).toBe(true)
    }
    expect(tags([null, null], [1, 2], null)).toEqual([])
  })
})
