// A box with one knob, measured twice with a little noise: circuits for it are compared within seconds.

import type { Folder, Stage } from './stage'

const box = (into: string, coil: string, out: string) => `box: One knob
terminals: {antenna: ant, receiver: rx}
parts:
  C1: {kind: variable capacitor, nodes: [a, ground], range: 12 pF .. 365 pF, Q: 400}
  C2: {kind: capacitor, nodes: [ant, a], value: ${into}}
  L1: {kind: inductor, nodes: [a, ground], ${coil}}
  C3: {kind: capacitor, nodes: [a, rx], value: ${out}}
controls:
  Tune: {knob: C1, scale: 0 .. 10}
start: {Tune: 5}
`
const measurements = `box: one-knob.box.yaml
measurements:
  - {name: low, file: low.csv, setup: bench-50.setup.yaml, setting: {Tune: 3}}
  - {name: high, file: high.csv, setup: bench-50.setup.yaml, setting: {Tune: 7}}
`

export const circuit = 'shunt tuned; antenna through a capacitor; receiver through a capacitor'

/** The demonstration bench with that box, whose inside is not known, and its traces: every fourth point about the peak, good to 1 %. */
export function oneKnob(stage: Stage): Folder {
  const folder = stage.with({ 'true.box.yaml': box('40 pF', 'value: 20 uH, Q: 100', '60 pF') })
  let state = 7
  const random = () => (state = (state * 1103515245 + 12345) % 2147483648) / 2147483648
  for (const [name, at] of [['low', 3], ['high', 7]] as const) {
    folder.told('sweep', 'true.box.yaml', '--setup', 'bench-50.setup.yaml', '--set', `Tune=${at}`, '--out', 'true.csv')
    const points = folder.read('true.csv').trim().split('\n').slice(1).map((row) => row.split(',').slice(0, 2).map(Number))
    folder.remove('true.csv')
    const top = points.reduce((best, [, v], i) => (v > points[best][1] ? i : best), 0)
    const rows = points.slice(top - 60, top + 60).filter((_, i) => i % 4 === 0)
    folder.write(`${name}.csv`, 'frequency (Hz),CH1 (V)\n' + rows.map(([f, v]) => `${f},${(v * (1 + 0.02 * (random() + random() + random() - 1.5))).toFixed(5)}\n`).join(''))
  }
  folder.remove('true.box.yaml')
  folder.write('one-knob.box.yaml', box('"? 5 pF .. 300 pF"', 'value: "? 5 uH .. 100 uH", Q: "? 100"', '"? 5 pF .. 300 pF"'))
  folder.write('one-knob.measurements.yaml', measurements)
  return folder
}
