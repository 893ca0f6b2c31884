import { expect, it } from 'vitest'
import { marked } from '../src/lines'

it('marks what the other text does not have', () => {
  const theirs = 'box: A\nparts:\n  C1: 1 pF # mine\n'
  const mine = 'box: A\nparts:\n  C1: 2 pF # mine\n'
  expect(marked(mine, theirs)).toEqual([
    { text: 'box: A', alone: false },
    { text: 'parts:', alone: false },
    { text: '  C1: 2 pF # mine', alone: true },
  ])
  expect(marked(theirs, mine).map((l) => l.alone)).toEqual([false, false, true])
})

it('marks nothing in equal texts, and everything against none', () => {
  expect(marked('a\nb\n', 'a\nb\n').some((l) => l.alone)).toBe(false)
  expect(marked('a\nb', '').every((l) => l.alone)).toBe(true)
  expect(marked('', 'a')).toEqual([{ text: '', alone: true }])
})
