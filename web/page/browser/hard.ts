// Files that are hard on a page. Everything in them is invented.

/** A box with nothing to turn. */
const pad = `# A pad with nothing to turn.
box: Pad behind the panel
about: Six decibels of resistors.
terminals: {antenna: ant, receiver: rx}
parts:
  R1: {kind: resistor, nodes: [ant, m], value: 16.6 ohm}
  R2: {kind: resistor, nodes: [m, ground], value: 66.9 ohm}
  R3: {kind: resistor, nodes: [m, rx], value: 16.6 ohm}
`

/** A box with ten controls, eight of them dials. */
const sections = Array.from({ length: 8 }, (_, i) => i + 1)
const many = `box: Ten hands
about: A ladder with eight dials and two switches.
terminals: {antenna: ant, receiver: rx}
parts:
${sections
  .map((n) => {
    const here = n === 1 ? 'a' : `n${n - 1}`
    return `  L${n}: {kind: inductor, nodes: [${here}, n${n}], value: ${2 + n / 2} uH, Q: 150 at 2 MHz}
  C${n}: {kind: variable capacitor, nodes: [n${n}, ground], range: 11 pF .. 420 pF, Q: 500}`
  })
  .join('\n')}
controls:
  Way in:
    switch:
      coil: {joins: [[ant, a]]}
      past: {joins: [[ant, n4]]}
  Way out:
    switch:
      far:  {joins: [[n8, rx]]}
      near: {joins: [[n6, rx]]}
${sections.map((n) => `  Section ${n}: {knob: C${n}, scale: 0 .. 100 %}`).join('\n')}
start: {Way in: coil, Way out: far, ${sections.map((n) => `Section ${n}: ${20 + 5 * n}`).join(', ')}}
`

export const longest = 'The coupler that stood for thirty winters under the north window of the telegraph room beside the stove'
/** A box whose names are long, one of them without a place to break. */
const long = `box: ${longest}
about: ${'It hums a little in fog, and nobody has ever found out why. '.repeat(4).trim()}
terminals: {antenna: ant, receiver: rx}
parts:
  C_between_antenna_and_first_circuit: {kind: variable capacitor, nodes: [ant, the_node_between_antenna_and_coil], range: 11 pF .. 420 pF, Q: 400}
  L_of_the_first_circuit_wound_in_1931: {kind: inductor, nodes: [the_node_between_antenna_and_coil, ground], value: 22 uH, Q: 150 at 2 MHz}
  C_toTheReceiverThroughTheLongGreenCableUnderTheFloor: {kind: capacitor, nodes: [the_node_between_antenna_and_coil, rx], value: 68 pF, Q: 900}
controls:
  Antenna coupling of the north window: {knob: C_between_antenna_and_first_circuit, scale: 0 .. 100 %}
  The switch that nobody has dared to turn since the flood:
    switch:
      leave it exactly where it stands and do not touch it: {}
      the other way: {joins: [[ant, the_node_between_antenna_and_coil]]}
start: {Antenna coupling of the north window: 40, The switch that nobody has dared to turn since the flood: leave it exactly where it stands and do not touch it}
`

/** A box with a part that was measured from 1 to 3 MHz only. */
const measured = `box: Trap, measured
terminals: {antenna: ant, receiver: rx}
parts:
  C1: {kind: variable capacitor, nodes: [ant, rx], range: 11 pF .. 420 pF, Q: 400}
  Trap: {kind: measured one-port, nodes: [rx, ground], file: trap.s1p}
controls:
  Series: {knob: C1, scale: 0 .. 10}
start: {Series: 5}
`
/** 1000 ohm at every frequency: S = (1000 − 50)/(1000 + 50), the definition of the reflection coefficient. */
const trap = ['! 1000 ohm from 1 to 3 MHz.', '# MHz S RI R 50', ...[1, 1.5, 2, 2.5, 3].map((f) => `${f} ${((1000 - 50) / (1000 + 50)).toFixed(9)} 0`), ''].join('\n')

export const hard = {
  'pad.box.yaml': pad,
  'ten-hands.box.yaml': many,
  'trap.box.yaml': measured,
  'trap.s1p': trap,
}

/** In a folder of its own: a long name stands in the list of boxes whatever box is shown. */
export const longNames = { 'long.box.yaml': long }
