import { describe, expect, it } from 'vitest'
import type { Sweep, SweepReply } from '../src/api'
import { columnsOf, filled, peakOf } from '../src/asked'
import { sides, views } from '../src/address'

const span = { from_hz: 1e6, to_hz: 2e6, points: 2, log: false }
const names = ['frequency_hz', 'load_v', 'load_phase_deg', 'straight_v', 'insertion_gain_db', 'transducer_gain_db']
const more = ['input_mismatch_db', 'dissipation_db', 'zin_re_ohm', 'zin_im_ohm', 'zout_re_ohm', 'zout_im_ohm']
/** A sweep whose columns all hold one number, those left out nothing. */
function sweep(value: number, only = [...names, ...more]): SweepReply {
  const columns = Object.fromEntries([...names, ...more].map((n) => [n, only.includes(n) ? [value, value] : []]))
  const rest = { box: '', setup: '', setting: {}, emf_v: 1, features: [], readings: [], power_budget: [], warnings: [String(value)] }
  return { sweep: { ...columns, ...rest } as unknown as Sweep, span, drawing: null }
}

describe('answers of a few columns', () => {
  for (const view of views)
    for (const side of sides)
      it(`${view}, ${side}: what is drawn is new, the rest is kept`, () => {
        const asked: string[] = columnsOf(view, side)
        const whole = filled(sweep(2, asked), sweep(1))
        expect(whole).not.toBeNull()
        for (const n of [...names, ...more])
          expect(whole?.sweep[n as keyof Sweep], n).toEqual(asked.includes(n) ? [2, 2] : [1, 1])
        expect(whole?.sweep.warnings).toEqual(['2'])
      })
  it('are not put over other frequencies', () => {
    for (const other of [{ from_hz: 1.1e6 }, { to_hz: 3e6 }, { points: 3 }, { log: true }])
      expect(filled(sweep(2, ['load_v']), { ...sweep(1), span: { ...span, ...other } })).toBeNull()
  })
  it('stand at the peak of what is shown', () => {
    expect(views.map(peakOf)).toEqual(['insertion_gain_db', 'load_v', 'load_v', 'insertion_gain_db', 'load_v'])
  })
})
