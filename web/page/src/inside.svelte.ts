// What measured traces tell of the inside of the box: a fit that runs while the page stays usable, and its answer.

import type { Change, Compared, FoundValue, Identified, Proposed } from './api'
import * as client from './client'
import type { Model } from './model.svelte'
import { none, si } from './quantity'
import { filed } from './words'

export type Asked = 'values' | 'circuits' | 'next'

/** What an answer depends on. */
interface From {
  file: string
  changes: Change[]
  folder: number | undefined // how often it has changed
}

/** A text that marks a value as unknown. */
const open = (text: string) => /^\s*["']?\?|\.\./.test(text)
/** A value in its unit, or without one. */
export const textOf = (v: FoundValue, x: number | null) => (v.unit === '' ? (x === null ? none : String(Number(x.toPrecision(4)))) : si(x, v.unit))
const keyOf = (path: string[]) => path.join('\0')

export class Inside {
  running = $state<Asked | ''>('')
  done = $state(0)
  wrong = $state('')
  sofar = $state.raw<FoundValue[]>([])
  /** The likeliest circuit so far. */
  best = $state('')
  /** The last question was stopped before it had an answer. */
  stopped = $state(false)
  found = $state.raw<Identified | null>(null)
  compared = $state.raw<Compared | null>(null)
  proposed = $state.raw<Proposed | null>(null)
  /** Why there was nothing to find. */
  nothing = $state('')
  /** What the answer was found from; it is old where that has changed. */
  of = $state.raw<From | null>(null)

  #abort = new AbortController()

  constructor(private readonly model: Model) {}

  #now(file: string): From {
    return { file, changes: this.model.state.changes, folder: this.model.bench?.changes }
  }

  /** Whether the answer belongs to what was before. Numbers in place of the values that were asked for do not count: they are found all the same. */
  old(file: string): boolean {
    if (!this.of) return false
    const asked = new Set(this.found?.values.map((v) => keyOf(v.path)))
    const key = (x: From) => JSON.stringify([x.file, x.changes.filter((c) => c.remove || open(c.text) || !asked.has(keyOf(c.path))), x.folder])
    return key(this.of) !== key(this.#now(file))
  }

  async ask(file: string, what: Asked): Promise<void> {
    this.stop()
    const abort = (this.#abort = new AbortController())
    this.running = what
    this.stopped = false
    this.done = 0
    this.wrong = this.best = this.nothing = ''
    this.sofar = []
    const of = this.#now(file)
    const old = this.old(file)
    try {
      const step = await client.inside({ file, what, changes: this.model.state.changes }, abort.signal, (done, step) => {
        if (abort.signal.aborted) return
        this.done = done
        if (step.values) this.sofar = step.values
        if (step.best) this.best = step.best
      })
      if (abort.signal.aborted) return
      this.nothing = step.nothing
      if (!step.nothing) {
        if (old) this.found = this.compared = this.proposed = null // what else was found belongs to what was before
        this.of = of
      }
      if (step.identified) this.found = step.identified
      if (step.proposed) this.proposed = step.proposed
      if (step.compared) this.compared = step.compared
    } catch (error) {
      if (abort.signal.aborted) return
      this.wrong = error instanceof client.Refused ? error.problem.message : String(error instanceof Error ? error.message : error)
    }
    this.running = ''
  }

  stop(): void {
    this.#abort.abort()
    this.stopped = this.running !== ''
    this.running = ''
  }

  forget(): void {
    this.stop()
    this.found = this.compared = this.proposed = null
    this.stopped = false
    this.wrong = this.nothing = ''
    this.of = null
    this.sofar = []
  }

  /** Puts the determined values into the box on the page, to be looked at and kept like any other change. */
  take(values: FoundValue[]): void {
    const now = new Date()
    const day = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map((n) => String(n).padStart(2, '0')).join('-')
    this.model.put(
      values.filter((v) => v.determined && v.path.length > 0)
        .map((v) => ({ path: v.path, text: v.write, remark: filed(`${v.name} found ${day}, 95 %: ${textOf(v, v.low)} .. ${textOf(v, v.high)}`) })),
    )
  }

  /** Whether the determined values stand in the box as changes. */
  taken(values: FoundValue[]): boolean {
    return values.every((v) => !v.determined || v.path.length === 0 || this.model.state.changes.some((c) => keyOf(c.path) === keyOf(v.path) && c.text === v.write))
  }
}
