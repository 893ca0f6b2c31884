import { describe, expect, it } from 'vitest'
import type { Lane, Lanes } from '../src/api'
import { areas, laneFloor, laneNames, nearest } from '../src/lanes'

const lane = (switches: [string, string][], peaks: (number | null)[]): Lane => ({
  name: switches.map((s) => s.join(' ')).join(', ') || 'all settings',
  switches: switches.map(([control, at]) => ({ control, at })),
  peak_db: peaks,
  ranges: peaks.some((p) => p !== null) ? [{ from_hz: 1, to_hz: 2 }] : [],
  knobs: [],
})

describe('lanes', () => {
  it('share one floor, 30 dB below the strongest peak of all', () => {
    const lanes = { lanes: [lane([], [null, -3]), lane([], [2.5, null])] } as unknown as Lanes
    expect(laneFloor(lanes)).toBe(-27.5)
    expect(laneFloor({ lanes: [] } as unknown as Lanes)).toBe(-30)
  })
  it('draw an area for each run of peaks, to the full height at the strongest', () => {
    const d = areas([1, 2, 3, 4, 5, 6], [null, -30, 0, null, 0, null], -30, (hz) => hz * 10, 100)
    expect(d).toEqual(['M20.0 100L20.0 88.0L30.0 0.0L30.0 100Z', 'M49.0 100L49.0 0.0L51.0 0.0L51.0 100Z'])
    expect(areas([1, 2], [null, null], 0, (hz) => hz, 10)).toEqual([])
  })
  it('are named by what tells them apart', () => {
    const all = [
      lane([['Path', 'tuned'], ['Range', 'long']], [1]),
      lane([['Path', 'tuned'], ['Range', 'short']], [1]),
      lane([['Path', 'straight']], [null]),
    ]
    expect(laneNames(all)).toEqual({ common: 'Path tuned', each: ['Range long', 'Range short', 'Path straight'] })
    expect(laneNames([lane([['Range', 'long']], [1])])).toEqual({ common: '', each: ['Range long'] })
    expect(laneNames([lane([], [1])])).toEqual({ common: '', each: ['all settings'] })
  })
  it('find the nearest frequency', () => {
    expect(nearest([1, 2, null, 4], 3.6)).toBe(3)
    expect(nearest([1, 2], -5)).toBe(0)
  })
})
