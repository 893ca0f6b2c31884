// What measured traces tell of the inside of the box: a fit that runs while the page stays usable, and its answer.

import type { Compared, FoundValue, Identified, Proposed } from './api'
import * as client from './client'
import type { Model } from './model.svelte'

export type Asked = 'values' | 'circuits' | 'next'

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
  /** What the answer was found from; it is old where that has changed. */
  of = $state('')

  #abort = new AbortController()

  constructor(private readonly model: Model) {}

  /** What an answer depends on. */
  key(file: string): string {
    return JSON.stringify([file, this.model.state.changes, this.model.bench?.changes])
  }

  async ask(file: string, what: Asked): Promise<void> {
    this.stop()
    const abort = (this.#abort = new AbortController())
    this.running = what
    this.stopped = false
    this.done = 0
    this.wrong = this.best = ''
    this.sofar = []
    const of = this.key(file)
    if (this.of !== of) this.found = this.compared = this.proposed = null
    try {
      const step = await client.inside({ file, what, changes: this.model.state.changes }, abort.signal, (done, step) => {
        if (abort.signal.aborted) return
        this.done = done
        if (step.values) this.sofar = step.values
        if (step.best) this.best = step.best
      })
      if (abort.signal.aborted) return
      this.of = of
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
    this.wrong = this.of = ''
    this.sofar = []
  }

  /** Puts the determined values into the box on the page, to be looked at and kept like any other change. */
  take(values: FoundValue[]): void {
    const model = this.model
    for (const v of values) if (v.determined && v.path.length > 0) model.whatIf('box', v.path, v.write, '')
  }
}
