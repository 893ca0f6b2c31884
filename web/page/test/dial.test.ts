import { describe, expect, it } from 'vitest'
import * as dial from '../src/dial'

const plain: dial.Scale = { from: 0, to: 10, percent: false }
const reversed: dial.Scale = { from: 100, to: 0, percent: true }
const circle: dial.Scale = { from: 0, to: 180, percent: false }
const below: dial.Scale = { from: -5, to: 5, percent: false }
const scales = [plain, reversed, circle, below]

describe('turn and reading', () => {
  it('belong to each other at every place of every scale', () => {
    let rows = 0
    for (const s of scales)
      for (let i = 0; i <= 1000; i++) {
        const reading = dial.readingAt(s, i / 1000)
        expect(Math.abs(dial.turnOf(s, reading) - i / 1000)).toBeLessThanOrEqual(0.51 / 1000 * (dial.stepOf(s) / (Math.abs(s.to - s.from) / 100)) + 1e-9)
        rows++
      }
    expect(rows).toBe(4004)
  })
  it('stop at the stops', () => {
    for (const s of scales) {
      expect(dial.readingAt(s, -3)).toBe(s.from)
      expect(dial.readingAt(s, 3)).toBe(s.to)
      expect(dial.turnOf(s, s.from)).toBe(0)
      expect(dial.turnOf(s, s.to)).toBe(1)
    }
    expect(dial.turnOf({ from: 3, to: 3, percent: false }, 3)).toBe(0)
  })
  it('step in round numbers, never finer than a two-hundredth nor coarser than a hundredth', () => {
    expect(scales.map(dial.stepOf)).toEqual([0.1, 1, 1, 0.1])
    for (const to of [3, 7, 36, 50, 99, 1000]) {
      const step = dial.stepOf({ from: 0, to, percent: false })
      expect(step).toBeLessThanOrEqual((to / 100) * 1.0001)
      expect(step).toBeGreaterThan(to / 251)
    }
  })
})

describe('keys', () => {
  it('turn clockwise with up and right, whatever the scale prints', () => {
    expect(dial.keyed(plain, 3.5, 'ArrowUp', false)).toBe(3.6)
    expect(dial.keyed(plain, 3.5, 'ArrowLeft', false)).toBe(3.4)
    expect(dial.keyed(reversed, 50, 'ArrowRight', false)).toBe(49)
    expect(dial.keyed(reversed, 50, 'PageDown', false)).toBe(60)
  })
  it('are fine with Shift', () => {
    expect(dial.keyed(plain, 3.5, 'ArrowUp', true)).toBe(3.51)
    expect(dial.keyed(circle, 90, 'ArrowDown', true)).toBe(89.9)
  })
  it('reach the stops and go no further', () => {
    for (const s of scales) {
      expect(dial.keyed(s, 1, 'Home', false)).toBe(s.from)
      expect(dial.keyed(s, 1, 'End', false)).toBe(s.to)
      expect(dial.keyed(s, s.to, 'PageUp', false)).toBe(s.to)
      expect(dial.keyed(s, s.from, 'PageDown', false)).toBe(s.from)
    }
  })
  it('leave others alone', () => expect(dial.keyed(plain, 1, 'Tab', false)).toBeNull())
  it('walk over the whole scale without drift', () => {
    let at = 0
    for (let i = 0; i < 100; i++) at = dial.keyed(plain, at, 'ArrowUp', false) ?? NaN
    expect(at).toBe(10)
    for (let i = 0; i < 1000; i++) at = dial.keyed(plain, at, 'ArrowDown', true) ?? NaN
    expect(at).toBe(0)
  })
})

describe('drags', () => {
  it('by height: the drag length is the whole travel, ten times as far with Shift', () => {
    expect(dial.turnByHeight(dial.dragLength, false)).toBe(1)
    expect(dial.turnByHeight(-dial.dragLength, true)).toBeCloseTo(-0.1, 12)
  })
  it('around: a quarter clockwise is 90 of 270 degrees, also across the left side', () => {
    expect(dial.turnByAngle(0, -10, 10, 0, false)).toBeCloseTo(1 / 3, 12) // from top to right
    expect(dial.turnByAngle(-10, 1, -10, -1, false)).toBeGreaterThan(0) // upwards on the left
    expect(dial.turnByAngle(-10, 1, -10, -1, false)).toBeLessThan(0.05)
    expect(dial.turnByAngle(10, 0, 0, -10, true)).toBeCloseTo(-1 / 30, 12)
  })
  it('go round only from near the rim and along it', () => {
    expect(dial.goesRound(0, -28, 5, 0, 28)).toBe(true)
    expect(dial.goesRound(0, -28, 0, -5, 28)).toBe(false)
    expect(dial.goesRound(3, 3, 5, 0, 28)).toBe(false)
  })
})

describe('readings', () => {
  it('stand as on the scale', () => {
    expect(dial.readingText(plain, 4)).toBe('4.0')
    expect(dial.readingText(plain, 4.05)).toBe('4.05')
    expect(dial.readingText(circle, 90)).toBe('90')
    expect(dial.readingText(reversed, 35.5)).toBe('35.5 %')
    expect(dial.readingText(below, -2)).toBe('−2.0')
  })
  it('are read as they are typed', () => {
    expect(['4.05', '4,05', ' 35 % ', '−2', '-2'].map(dial.readReading)).toEqual([4.05, 4.05, 35, -2, -2])
    expect(['', '%', '4..', 'x', '--2'].map(dial.readReading)).toEqual([null, null, null, null, null])
  })
  it('come back as they were written', () => {
    let rows = 0
    for (const s of scales)
      for (let i = 0; i <= 500; i++) {
        const reading = dial.readingAt(s, i / 500)
        expect(dial.readReading(dial.readingText(s, reading))).toBeCloseTo(reading, 9)
        rows++
      }
    expect(rows).toBe(2004)
  })
})
