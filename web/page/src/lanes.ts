// How lanes are drawn: an area over the frequencies where a peak can be placed, as high as the peak is strong.

import type { Lane, Lanes, Position } from './api'

/** How many decibels a lane shows, and how high its lowest peak stands, as a part of its height. */
const shown = 30
const least = 0.12

/** The level at the foot of every lane: all lanes share it, so that they can be compared. */
export function laneFloor(lanes: Lanes): number {
  let top = -Infinity
  for (const l of lanes.lanes) for (const db of l.peak_db) if (db !== null && db > top) top = db
  return (top === -Infinity ? 0 : top) - shown
}

/** Path data of a lane's areas, one for each run of neighbouring frequencies with a peak. */
export function areas(hz: (number | null)[], db: (number | null)[], floor: number, to: (hz: number) => number, high: number): string[] {
  const out: string[] = []
  let run: [number, number][] = []
  const close = () => {
    if (run.length === 1) run = [[run[0][0] - 1, run[0][1]], [run[0][0] + 1, run[0][1]]]
    if (run.length > 0) {
      const points = run.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join('L')
      out.push(`M${run[0][0].toFixed(1)} ${high}L${points}L${run[run.length - 1][0].toFixed(1)} ${high}Z`)
    }
    run = []
  }
  hz.forEach((f, i) => {
    const level = db[i]
    if (f === null || level === null || level === undefined) return close()
    const part = Math.min(Math.max((level - floor) / shown, 0), 1)
    run.push([to(f), high * (1 - least - (1 - least) * part)])
  })
  close()
  return out
}

/** The index of the frequency nearest to one. */
export function nearest(hz: (number | null)[], f: number): number {
  let best = 0
  hz.forEach((x, i) => {
    if (x !== null && Math.abs(x - f) < Math.abs((hz[best] ?? Infinity) - f)) best = i
  })
  return best
}

/** Names of lanes without what all that have a peak share, and that apart. */
export function laneNames(lanes: Lane[]): { common: string; each: string[] } {
  const peaked = lanes.filter((l) => l.ranges.length > 0)
  const at = (l: Lane, control: string) => l.switches.find((s) => s.control === control)?.at
  const shared = (s: Position) => peaked.length > 1 && peaked.every((l) => at(l, s.control) === s.at)
  const words = (all: Position[]) => all.map((s) => `${s.control} ${s.at}`).join(', ')
  return {
    common: peaked.length > 1 ? words(peaked[0].switches.filter(shared)) : '',
    each: lanes.map((l) => words(l.switches.filter((s) => !shared(s))) || l.name),
  }
}
