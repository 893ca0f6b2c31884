import { expect, it } from 'vitest'
import { filed, gathered, micro, nameOf, ofCompared, ofFit, ofSheet } from '../src/words'

it('micro has one sign, and files have the letter', () => {
  expect(micro('12.36 uH and 3us, up to 22 uF')).toBe('12.36 µH and 3µs, up to 22 µF')
  expect(micro('2 units, 5 under')).toBe('2 units, 5 under')
  expect(filed('12.36 µH, −3, 2 kΩ')).toBe('12.36 uH, -3, 2 kohm')
})

it('keys of the file are told as the labels of the sheet', () => {
  expect(ofSheet('x.csv: give the magnitude, or name its column as `channel`')).toBe('x.csv: give the magnitude, or name its column as “column”')
  expect(ofSheet('it is no dB; write `quantity: amplitude`, or say its unit: `units: {1: V}`')).toBe('it is no dB; choose “holds” amplitudes, or say its unit: “its unit” V')
  expect(ofSheet("check the sweep's `time` and `start`, and the unit of the times")).toBe("check the sweep's “takes” and “starts”, and the unit of the times")
  expect(ofSheet('or give the number of `header` lines')).toBe('or give the “lines above the numbers”')
  expect(ofSheet('say `start: 1 us`; and `unheard: of`')).toBe('say “starts” 1 µs; and `unheard: of`')
})

it('what belongs to the command is told in the words of the page', () => {
  expect(ofFit('check its setting, and try without it (--only)')).toBe('Check its setting, and try without it: take it out of the file of measurements')
  expect(ofFit('check the circuit, or try `knobwise compare`')).toBe('Check the circuit, or try “Compare circuits”')
})

it('guessed values stand in one line', () => {
  const all = ['C3: value is not known; 54.77 pF is taken', 'a sweep too fast', 'L1: Q is not known; 100.0 is taken', 'L1: value in Range short is not known; 14.14 uH is taken']
  expect(gathered(all)).toEqual(['Not known, and taken as guessed: C3 54.77 pF, Q of L1 100.0, L1 in Range short 14.14 µH', 'a sweep too fast'])
  expect(gathered([all[0]])).toEqual(['Not known, and taken as C3 54.77 pF'])
  expect(gathered([])).toEqual([])
})

it('circuits that were compared are told by their numbers', () => {
  const names = ['a; b', 'a; b; c', 'd']
  expect(ofCompared('these traces do not tell a; b from d and a; b; c: they share the weight', names, ['d', 'a; b; c'])).toBe('1, 2 and 3 cannot be told apart by these traces: they share the weight')
  expect(ofCompared('none explains: of the best, a; b; c, 2.0 times', names, [])).toBe('None explains: of the best, number 2, 2.0 times')
  expect(ofCompared('more is left by a; b; c (number 2, 7 values, 1.02)', names, [])).toBe('More is left by number 2 (7 values, 1.02)')
})

it('a value of a file is called as in the tables', () => {
  expect(nameOf(['parts', 'C3', 'value'])).toBe('C3 value')
  expect(nameOf(['controls', 'Range', 'switch', 'short', 'values', 'L1'])).toBe('L1 in Range short')
  expect(nameOf(['load', 'value'])).toBe('load value')
})
