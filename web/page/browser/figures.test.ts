// Speed and size, measured and printed. Nothing here is asserted but one property: never more than one sweep on its way.

import { availableParallelism, loadavg } from 'node:os'
import { gzipSync } from 'node:zlib'
import type { Stage } from './stage'
import { expect, it } from './test'

const tern = '?box=tern-point&setup=bench-50'
const pin = '&pin=name%3Das%2Bfound%26box%3Dtern-point%26knob.Input%3D5'
const told = (frames: number, answers: number, drawn: number) =>
  `${drawn.toFixed(1)} fresh traces drawn, ${answers.toFixed(1)} answers, ${frames.toFixed(1)} frames (load of this machine ${loadavg()[0].toFixed(1)} on ${availableParallelism()} cores)`
const median = (all: number[]) => [...all].sort((a, b) => a - b)[Math.floor(all.length / 2)]

/**
 * Turns a dial once a display frame, as a moving pointer does, for this long in ms, and counts what happens after the first
 * second: before, the browser still compiles the script.
 */
async function turned(stage: Stage, query: string, time = 4000, warm = 1000) {
  const v = await stage.open(await stage.serve(stage.demo()), query)
  const { x, y } = await v.face('Input')
  await v.page.mouse.move(x, y)
  await v.page.mouse.down()
  await v.page.mouse.move(x, y - 10)
  await v.settled(true)
  const counted = await v.dial('Input').evaluate(
    async (dial, { x, y, time, warm }) => {
      const { seen } = window
      seen.most = 0
      const begun = performance.now()
      let [before, start, now, frames] = [{ ...seen }, begun, begun, 0]
      for (let counts = false; now - begun < time; frames++) {
        now = await new Promise(requestAnimationFrame)
        if (!counts && now - begun >= warm) [counts, before, start, frames] = [true, { ...seen }, now, 0]
        const clientY = y - 15 - 60 * Math.sin(frames / 20)
        dial.dispatchEvent(new PointerEvent('pointermove', { bubbles: true, pointerId: 1, pointerType: 'mouse', clientX: x, clientY, isPrimary: true }))
      }
      const per = (n: number) => (n * 1000) / (now - start)
      return { frames: per(frames), answers: per(seen.answers - before.answers), drawn: per(seen.drawn - before.drawn), most: seen.most }
    },
    { x, y, time, warm },
  )
  await v.page.mouse.up()
  await v.settled()
  return counted
}

for (const [view, query] of Object.entries({ dB: '', volts: '&view=volts', phase: '&view=phase', 'Smith chart': '&view=smith' }))
  it(`a dial that is dragged has one sweep on its way, in the view ${view}`, async ({ stage }) => {
    const { frames, answers, drawn, most } = await turned(stage, tern + pin + query)
    console.log(`${view}, 401 points, now + straight + one pin, per second: ${told(frames, answers, drawn)}`)
    expect(answers, 'the drag was answered').toBeGreaterThan(1)
    expect(most).toBe(1)
  })

it('with a value changed the trace as filed follows too, and neither has more than one sweep on its way', async ({ stage }) => {
  const { frames, answers, drawn, most } = await turned(stage, tern + '&change=%2Bparts%2FC3%2FQ%3D77')
  console.log(`dB with the trace as filed, per second: ${told(frames, answers, drawn)}, answers to both`)
  expect(answers, 'the drag was answered').toBeGreaterThan(1)
  expect(most).toBeLessThanOrEqual(2)
})

it('first paint, time until the controls can be used, and weight', async ({ stage }) => {
  const served = await stage.serve(stage.demo())
  const [paint, usable]: [number[], number[]] = [[], []]
  for (let i = 0; i < 5; i++) {
    const v = await stage.open(served, tern)
    const [first, controls] = await v.page.evaluate(() => [performance.getEntriesByName('first-contentful-paint')[0]?.startTime ?? NaN, window.seen.usable])
    paint.push(first)
    usable.push(controls)
    await v.page.goto('about:blank') // so that it takes no time from the next
  }
  console.log(`first contentful paint ${median(paint).toFixed(0)} ms, controls usable after ${median(usable).toFixed(0)} ms (medians of 5 loads)`)
  const page = await (await fetch(served.url)).text()
  let script = 0
  for (const [, path] of page.matchAll(/src="([^"]+\.js)"/g)) script += gzipSync(Buffer.from(await (await fetch(new URL(path, served.url))).arrayBuffer()), { level: 9 }).length
  console.log(`page script ${(script / 1000).toFixed(1)} kB gzipped`)
  expect(script).toBeGreaterThan(10_000)
})
