import { describe, expect, it } from 'vitest'
import { readFrequencies, writeFrequencies } from '../src/list'

describe('lists of frequencies', () => {
  it('are read as written', () => {
    expect(readFrequencies('1.2 MHz, 900kHz;2 MHz')).toEqual([1.2e6, 900e3, 2e6])
    expect(readFrequencies('1 MHz .. 5 MHz in 5')).toEqual([1e6, 2e6, 3e6, 4e6, 5e6])
    expect(readFrequencies('1 MHz..3 MHz in 2, 7 MHz')).toEqual([1e6, 3e6, 7e6])
    expect(readFrequencies('1 MHz .. 2 MHz')).toHaveLength(9)
    expect(readFrequencies('1.2MHz,1.9MHz')).toEqual([1.2e6, 1.9e6])
    expect(readFrequencies('1,5 MHz')).toContain('behind a point')
  })
  it('say what is wrong', () => {
    for (const bad of ['', ' , ', 'five', '1 MHz .. x', '1 MHz .. 2 MHz in 1', '1 MHz .. 2 MHz in 99999']) expect(typeof readFrequencies(bad), bad).toBe('string')
  })
  it('are read back', () => {
    expect(readFrequencies(writeFrequencies({ from_hz: 5e5, to_hz: 5e6, points: 3, log: false }, 10))).toHaveLength(10)
  })
})
