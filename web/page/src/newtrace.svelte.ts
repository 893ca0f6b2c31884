// A trace that was dropped on the page: how it was taken, the model beside it, and into the folder with it.

import type { Dropped, NewMeasurement, Trial } from './api'
import * as client from './client'
import { idOf, type Model } from './model.svelte'
import { ofSheet } from './words'

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

const said = (error: unknown) => (error instanceof client.Refused ? ofSheet(error.problem.message) : String(error instanceof Error ? error.message : error))

export class NewTrace {
  dropped = $state.raw<Dropped | null>(null)
  trial = $state.raw<Trial | null>(null)
  said = $state<Said>(nothing())
  wrong = $state('')
  reading = $state(false)
  /** Why a file that was dropped is not looked at. */
  refused = $state('')
  /** A file that cannot be read as it is, dropped while another was looked at. */
  second = $state.raw<Dropped | null>(null)
  /** What else is to be said of what was dropped. */
  note = $state('')

  #trials = new client.Newest<NewMeasurement, Trial>(
    client.trial,
    (trial) => {
      this.trial = trial
      this.wrong = ''
      this.#draw()
    },
    (error) => this.#failed(error),
  )

  constructor(private readonly model: Model) {}

  /** Takes the first of some files that were dropped or chosen. What is looked at stays until it was read. */
  async take(files: File[]): Promise<void> {
    const [file, ...others] = files
    if (!file) return
    this.reading = true
    this.refused = ''
    this.second = null
    this.note = others.length > 0 ? `One trace is taken at a time: this is ${file.name}; ${others.map((f) => f.name).join(', ')} must be dropped after it.` : ''
    try {
      const dropped = await client.drop(file)
      if (dropped.error && this.dropped && !this.dropped.error) {
        this.second = dropped
        this.refused = ofSheet(dropped.error.message)
      } else this.open(dropped)
    } catch (error) {
      this.refused = said(error)
    }
    this.reading = false
  }

  open(dropped: Dropped): void {
    const note = this.note
    this.leave()
    this.note = note
    this.said = { ...nothing(), setup: this.model.state.setup, quantity: dropped.quantity }
    this.dropped = dropped
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
    this.dropped = this.trial = this.second = null
    this.wrong = this.refused = this.note = ''
    this.#draw()
  }

  /** Draws the trace beside the others while it is looked at. */
  #draw(): void {
    const { dropped, trial, model } = this
    const setting = model.state.setting
    model.trying =
      dropped && trial
        ? {
            id: 'new',
            of: { file: '', index: 0, name: dropped.name, setup: this.said.setup, setting, doubtful: [], quantity: this.said.quantity },
            trace: trial.measured,
            wrong: '',
          }
        : null
  }

  #failed(error: unknown): void {
    this.trial = null
    this.#draw()
    this.wrong = said(error)
  }
}
