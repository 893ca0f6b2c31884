import { describe, expect, it } from 'vitest'
import { blank, readAddress, writeAddress, type State } from '../src/address'

const full: State = {
  box: 'tern-point.box.yaml',
  setup: 'bench-probe.setup.yaml',
  source: 'parapet-wire.setup.yaml',
  load: 'odd name.setup.yaml',
  setting: { Input: 3.55, Range: 'long', 'Fine & = #': -0.5, '1': '2', 'ünï cödé': 'a/b c+d' },
  span: { from_hz: 1.6e6, to_hz: 3.4e6, points: 801, log: true },
  view: 'volts',
  side: 'load',
  reference: 75,
  time: 0.05,
  cursor: 2_310_000.125,
  reject: [1.53e6, 909e3],
  measured: ['first.measurements.yaml#0', 'sub/x.measurements.yaml#12'],
  pins: [
    { name: 'Input 3, wide & "good"', box: 'tern-point.box.yaml', setup: 'bench-50.setup.yaml', source: 'short-wire.setup.yaml', load: '', setting: { Input: 3, Range: 'a=b' }, changes: [], setupChanges: [{ path: ['load', 'value'], text: '75 ohm', remove: false }] },
    { name: '', box: 'odd.box.yaml', setup: '', source: '', load: '', setupChanges: [], setting: {}, changes: [{ path: ['parts', 'C=1/2\\', 'value'], text: '? 10 pF .. 20 pF', remove: false }] },
  ],
  changes: [
    { path: ['parts', 'L1', 'Q'], text: '180 at 2 MHz = so', remove: false },
    { path: ['parts', 'C3', 'esr'], text: '', remove: true },
  ],
  setupChanges: [{ path: ['load', 'resistance'], text: '75 ohm', remove: false }],
}

describe('address', () => {
  it('brings the whole state back', () => {
    expect(readAddress(writeAddress(full))).toEqual(full)
    expect(readAddress('?' + writeAddress(full))).toEqual(full)
  })
  it('brings back each part alone', () => {
    let rows = 0
    for (const key of Object.keys(full) as (keyof State)[]) {
      const s = { ...blank(), [key]: full[key] }
      expect(readAddress(writeAddress(s)), key).toEqual(s)
      rows++
    }
    expect(rows).toBe(16)
  })
  it('is empty for the blank state, and the same for the same state', () => {
    expect(writeAddress(blank())).toBe('')
    expect(readAddress('')).toEqual(blank())
    expect(writeAddress({ ...blank(), setting: { a: 1, b: 2 } })).toBe(writeAddress({ ...blank(), setting: { b: 2, a: 1 } }))
  })
  it('takes what cannot be read as left out', () => {
    const s = readAddress('?knob.A=x&knob.B=&from=5e6&to=1e6&view=nonsense&cursor=-1&reference=0&reject=abc&change=nonsense&change=%2Bno-equals&points=1e9')
    expect(s).toEqual(blank())
  })
})
