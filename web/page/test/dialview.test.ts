// @vitest-environment jsdom
import { cleanup, fireEvent, render, screen } from '@testing-library/svelte'
import { afterEach, expect, it } from 'vitest'
import type { Control } from '../src/api'
import { Model } from '../src/model.svelte'
import Dial from '../src/parts/Dial.svelte'

const control: Control = { name: 'Input', kind: 'knob', from: 0, to: 10, percent: false, parts: ['C1'], positions: [] }

function show() {
  const model = new Model() // never started: it asks nothing
  model.state = { ...model.state, setting: { Input: 3.5 } }
  render(Dial, { model, control, x: 50, y: 50, radius: 28, readingAt: { x: 90, y: 55, anchor: 'start' } })
  return { model, dial: screen.getByRole('slider', { name: 'Input' }) }
}
afterEach(cleanup)

it('is a slider with its stops and its reading', () => {
  const { dial } = show()
  expect(['aria-valuemin', 'aria-valuemax', 'aria-valuenow', 'aria-valuetext'].map((a) => dial.getAttribute(a))).toEqual(['0', '10', '3.5', '3.5'])
})

it('follows keys and the wheel, and they can be undone', async () => {
  const { model, dial } = show()
  await fireEvent.keyDown(dial, { key: 'ArrowUp' })
  expect(dial.getAttribute('aria-valuenow')).toBe('3.6')
  await fireEvent.keyDown(dial, { key: 'End' })
  expect(dial.getAttribute('aria-valuenow')).toBe('10')
  await fireEvent.wheel(dial, { deltaY: 1 })
  expect(model.setting.Input).toBe(9.9)
  await fireEvent.wheel(dial, { deltaY: -1, shiftKey: true })
  expect(model.setting.Input).toBe(9.91)
  expect(location.search).toContain('knob.Input=')
})

it('takes a typed reading at Enter, and none beyond the stops', async () => {
  const { model, dial } = show()
  for (const key of ['7', '.', '2', '5']) await fireEvent.keyDown(dial, { key })
  expect(model.setting.Input).toBe(3.5)
  await fireEvent.keyDown(dial, { key: 'Enter' })
  expect(model.setting.Input).toBe(7.25)
  for (const key of ['7', '7', 'Enter']) await fireEvent.keyDown(dial, { key })
  expect(model.setting.Input).toBe(7.25)
  await fireEvent.keyDown(dial, { key: 'Escape' })
  expect(dial.getAttribute('aria-valuetext')).toBe('7.25')
})
