// A trace that was dropped on the page: how it was taken, the model beside it, and into the folder with it.

import type { Dropped, NewMeasurement, Trial } from './api'
import * as client from './client'
import { idOf, type Model } from './model.svelte'

/** What the person says of the trace; the setting is that of the page. */
export type Said = Omit<NewMeasurement, 'id' | 'box' | 'changes' | 'setting'>

const nothing = (): Said => ({
  name: '',
  setup: '',
  doubtful: [],
  quantity: 'amplitude',
  channel: '',
  reference: '',
  noise: '',
  lag_of: '',
  deconvolve: false,
  from: '',
  to: '',
  time: '',
  spacing: 'linear',
  start: '',
  delimiter: '',
  decimal: '',
  header: '',
  abscissa: '',
  axis: '',
  unit: '',
  interval: '',
})

export class NewTrace {
  dropped = $state.raw<Dropped | null>(null)
  trial = $state.raw<Trial | null>(null)
  said = $state<Said>(nothing())
  wrong = $state('')
  reading = $state(false)

  #trials = new client.Newest<NewMeasurement, Trial>(
    client.trial,
    (trial) => {
      this.trial = trial
      this.wrong = ''
    },
    (error) => this.#failed(error),
  )

  constructor(private readonly model: Model) {}

  /** Takes a file that was dropped or chosen. */
  async take(file: File): Promise<void> {
    this.leave()
    this.reading = true
    try {
      const dropped = await client.drop(file)
      this.said = { ...nothing(), setup: this.model.state.setup, quantity: dropped.quantity }
      this.dropped = dropped
    } catch (error) {
      this.#failed(error)
    }
    this.reading = false
  }

  question(): NewMeasurement | null {
    const { dropped, model } = this
    if (!dropped) return null
    return { ...$state.snapshot(this.said), id: dropped.id, box: model.state.box, changes: model.state.changes, setting: model.state.setting }
  }

  /** Asks for the model beside the trace, as things stand. */
  look(): void {
    const q = this.question()
    if (q) this.#trials.want(q)
  }

  async keep(): Promise<void> {
    const q = this.question()
    if (!q) return
    try {
      const kept = await client.keepMeasurement(q)
      this.leave()
      await this.model.open()
      this.model.showMeasured(idOf(kept), true)
      this.model.notice = `${kept.trace} kept, and an entry in ${kept.file}`
    } catch (error) {
      this.#failed(error)
    }
  }

  leave(): void {
    this.#trials.forget()
    this.dropped = this.trial = null
    this.wrong = ''
  }

  #failed(error: unknown): void {
    this.trial = null
    if (error instanceof client.Refused) this.wrong = error.problem.message
    else this.wrong = String(error instanceof Error ? error.message : error)
  }
}
