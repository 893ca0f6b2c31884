import { describe, expect, it } from 'vitest'
import { division, logSplits, moved, niceSplits, within, zoomed } from '../src/plot'
import { path, place, reactance, resistance } from '../src/smith'

const span = { from_hz: 1e6, to_hz: 4e6, points: 401, log: false }

describe('range', () => {
  it('zooms about the pointer and back', () => {
    expect(zoomed(span, 2e6, 0.5)).toMatchObject({ from_hz: 1.5e6, to_hz: 3e6 })
    expect(zoomed(zoomed(span, 2e6, 0.5), 2e6, 2)).toEqual(span)
    expect(zoomed({ ...span, log: true }, 2e6, 0.5).from_hz).toBeCloseTo(Math.SQRT2 * 1e6, -1)
  })
  it('moves along without going below zero', () => {
    expect(moved(span, 0.1)).toMatchObject({ from_hz: 1.3e6, to_hz: 4.3e6 })
    expect(moved(span, -1)).toEqual(span)
    expect(moved({ ...span, log: true }, 0.5)).toMatchObject({ from_hz: 2e6, to_hz: 8e6 })
  })
  it('always can be asked for', () => {
    for (const [from_hz, to_hz] of [[-5, 10], [3e6, 3e6], [3e6, 2e6], [1e6, 1e15]]) {
      const s = within({ ...span, from_hz, to_hz })
      expect(s.from_hz).toBeGreaterThan(0)
      expect(s.to_hz).toBeGreaterThan(s.from_hz)
    }
  })
})

describe('marks', () => {
  it('are round and inside', () => {
    expect(niceSplits(0.5, 5, 9)).toEqual([0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5])
    expect(niceSplits(7e6, 7.2e6, 5)).toEqual([7e6, 7.05e6, 7.1e6, 7.15e6, 7.2e6])
    expect(logSplits(1e5, 3e7)).toEqual([1e5, 1e6, 1e7])
    expect(logSplits(7e6, 7.2e6).length).toBeGreaterThan(3)
  })
})

// Landmarks of the chart by definition: short at the left end, open at the right, the reference in the middle.
describe('Smith chart', () => {
  it('has its landmarks', () => {
    expect(place(0, 0, 50)).toEqual({ x: -1, y: 0 })
    expect(place(50, 0, 50)).toEqual({ x: 0, y: 0 })
    expect(place(0, 50, 50)).toEqual({ x: 0, y: 1 })
    expect(place(0, -50, 50)).toEqual({ x: 0, y: -1 })
    expect(place(1e12, 0, 50)?.x).toBeCloseTo(1, 9)
    expect(place(null, 0, 50)).toBeNull()
    expect(place(-50, 0, 50)).toBeNull()
  })
  it('puts every impedance on its two circles', () => {
    let rows = 0
    for (const r of [0.2, 0.5, 1, 2, 5])
      for (const x of [-5, -1, -0.2, 0.5, 2]) {
        const p = place(r * 75, x * 75, 75)
        for (const c of [resistance(r), reactance(x)]) expect(Math.hypot((p?.x ?? 9) - c.cx, (p?.y ?? 9) - c.cy)).toBeCloseTo(c.radius, 9)
        rows++
      }
    expect(rows).toBe(25)
  })
  it('leaves gaps', () => expect(path([{ x: 0, y: 0 }, null, { x: 1, y: 0 }, { x: 0, y: 1 }], 10)).toBe('M0.00 0.00M10.00 0.00L0.00 -10.00'))
})

it('a division is a round one that is large enough', () => {
  expect([0.0371, 0.05, 0.051, 2.0000000001, 7, 0].map(division)).toEqual([0.05, 0.05, 0.1, 2, 10, 1])
})
