import { expect, it } from 'vitest'
import { Steps } from '../src/steps'

it('goes back and forth through everything that was recorded', () => {
  const s = new Steps(0)
  for (let i = 1; i <= 5; i++) expect(s.record(i, 'step ' + i, i)).toBe(true)
  const seen: (number | null)[] = []
  while (s.canUndo) seen.push(s.undo())
  expect(seen).toEqual([4, 3, 2, 1, 0])
  expect(s.undo()).toBeNull()
  while (s.canRedo) seen.push(s.redo())
  expect(seen.slice(5)).toEqual([1, 2, 3, 4, 5])
  expect(s.redo()).toBeNull()
  expect(s.present).toBe(5)
})

it('makes one step of what belongs together', () => {
  const s = new Steps(0)
  expect(s.record(1, 'wheel', 0)).toBe(true)
  expect(s.record(2, 'wheel', 500)).toBe(false)
  expect(s.record(3, 'wheel', 1000)).toBe(false)
  expect(s.record(4, 'wheel', 2000)).toBe(true) // after a pause
  expect(s.record(5, 'other', 2001)).toBe(true)
  expect([s.undo(), s.undo(), s.undo(), s.undo()]).toEqual([4, 3, 0, null])
})

it('does not join a new step to one before an undo', () => {
  const s = new Steps(0)
  s.record(1, 'wheel', 0)
  s.undo()
  expect(s.record(2, 'wheel', 1)).toBe(true)
  expect(s.undo()).toBe(0)
})

it('forgets what was undone when something else is done', () => {
  const s = new Steps('a')
  s.record('b', 'x', 0)
  s.undo()
  s.record('c', 'y', 1)
  expect(s.canRedo).toBe(false)
  expect(s.undo()).toBe('a')
})

it('keeps no more steps than it was told, and begins anew', () => {
  const s = new Steps(0, 3)
  for (let i = 1; i <= 10; i++) s.record(i, String(i), i)
  let n = 0
  while (s.undo() !== null) n++
  expect([n, s.present]).toEqual([3, 7])
  s.restart(1)
  expect([s.present, s.canUndo, s.canRedo]).toEqual([1, false, false])
})
