// What a view needs of a sweep, so that a moving control is followed by small answers.

import type { Sweep, SweepReply } from './api'
import type { Side, View } from './address'

/** The trace at whose peak the readings stand: the highest voltage and the highest gain may lie apart. */
export const peakOf = (view: View): 'load_v' | 'insertion_gain_db' => (view === 'volts' || view === 'phase' || view === 'screen' ? 'load_v' : 'insertion_gain_db')

const columns = [
  'frequency_hz',
  'load_v',
  'load_phase_deg',
  'straight_v',
  'insertion_gain_db',
  'transducer_gain_db',
  'input_mismatch_db',
  'dissipation_db',
  'zin_re_ohm',
  'zin_im_ohm',
  'zout_re_ohm',
  'zout_im_ohm',
] as const satisfies (keyof Sweep)[]

/** The columns that a view draws anew when a control moves; frequencies and straight through stay as they are. */
export function columnsOf(view: View, side: Side): (typeof columns)[number][] {
  switch (view) {
    case 'dB':
      return ['insertion_gain_db']
    case 'volts':
    case 'screen': // which is asked for apart
      return ['load_v']
    case 'phase':
      return ['load_phase_deg']
    case 'smith':
      return side === 'source' ? ['zin_re_ohm', 'zin_im_ohm'] : ['zout_re_ohm', 'zout_im_ohm']
  }
}

/** An answer of a few columns, with the others as they were before; null if it is over another range than those. */
export function filled(reply: SweepReply, before: SweepReply): SweepReply | null {
  const [a, b] = [reply.span, before.span]
  if (a.from_hz !== b.from_hz || a.to_hz !== b.to_hz || a.points !== b.points || a.log !== b.log) return null
  const sweep = { ...reply.sweep }
  for (const name of columns) if (sweep[name].length === 0) sweep[name] = before.sweep[name]
  return { ...reply, sweep }
}
