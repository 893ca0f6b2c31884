// What the page shows and how it changes. The address holds the state; the server holds every number.

import type {
  Bench,
  Box,
  Budget,
  Change,
  Conflict,
  Drawing,
  ExportRequest,
  Field,
  Lane,
  Lanes,
  Measured,
  Measurement,
  Measurements,
  Problem,
  Reading,
  Screen,
  ScreenRequest,
  Setup,
  Share,
  Span,
  Sweep,
  SweepReply,
  SweepRequest,
  TuningChart,
} from './api'
import { blank, readAddress, writeAddress, type Pin, type Setting, type Side, type State, type View } from './address'
import { columnsOf, filled, peakOf } from './asked'
import * as client from './client'
import { readingText, within } from './dial'
import { Steps } from './steps'

/** What is open beside the trace. */
export type Panel = { kind: 'part'; name: string } | { kind: 'setup' } | null

/** What undo brings back: the controls and what was changed; and the cursor, where it was set together with them. */
type Moment = Pick<State, 'setting' | 'changes' | 'setupChanges' | 'cursor'>

/** A trace drawn thin beside the one of now. */
export interface Beside {
  name: string
  kind: 'pinned' | 'filed' // a pin, or the box as its file has it
  sweep: Sweep | null
}

/** A measured trace beside the model, or why there is none. */
export interface Dots {
  id: string
  of: Measurement
  trace: Measured | null
  wrong: string
}

/** How the address names a measurement. */
export const idOf = (m: { file: string; index: number }) => `${m.file}#${m.index}`

interface BesideWish {
  name: string
  kind: Beside['kind']
  request: SweepRequest
}

const same = (a: string[], b: string[]) => a.length === b.length && a.every((k, i) => k === b[i])
const equal = (a: Change, b: Change) => same(a.path, b.path) && a.text === b.text && a.remove === b.remove
const sameSpan = (a: Span, b: Span) => a.from_hz === b.from_hz && a.to_hz === b.to_hz && a.points === b.points && a.log === b.log
const fieldsOf = (x: Box | Setup): Field[] => ('parts' in x ? x.parts : x.groups).flatMap((p) => p.fields)

/** How long a drawing may be old while a control moves, in ms; the dials themselves always follow at once. */
const drawingAge = 120
/** The same for figures: nobody reads sixty in a second, and the frame goes to the trace. */
const readingAge = 80

export class Model {
  // The state in the address.
  state = $state.raw<State>(blank())
  // What the server told.
  bench = $state.raw<Bench | null>(null)
  box = $state.raw<Box | null>(null)
  setup = $state.raw<Setup | null>(null)
  reply = $state.raw<SweepReply | null>(null)
  sweep = $state.raw<Sweep | null>(null) // that the readings tell of; the trace itself is always the newest
  drawing = $state.raw<Drawing | null>(null)
  beside = $state.raw<Beside[]>([])
  lanes = $state.raw<Lanes | null>(null)
  lanesDone = $state(1) // the part of the work on them that is done
  lanesProblem = $state('')
  measurements = $state.raw<Measurements>({ list: [], files: [], errors: [] })
  dots = $state.raw<Dots[]>([])
  trying = $state.raw<Dots | null>(null) // a trace that is not kept yet
  screen = $state.raw<Screen | null>(null)
  screenProblem = $state('')
  chart = $state.raw<TuningChart | null>(null)
  chartDone = $state(1) // the part of the work on it that is done
  // What went wrong.
  problem = $state.raw<Problem | null>(null)
  lost = $state(false)
  conflict = $state.raw<{ of: 'changes' | 'setupChanges'; file: string; changes: Change[]; conflict: Conflict } | null>(null)
  notice = $state('')
  // What is open and pointed at.
  panel = $state.raw<Panel>(null)
  pointed = $state('') // the part under the pointer or the focus
  canUndo = $state(false)
  canRedo = $state(false)
  moving = $state(false) // a control is being dragged
  answers = 0 // counts fresh traces, for the measurement of the frame rate

  #steps = new Steps<Moment>({ setting: {}, changes: [], setupChanges: [], cursor: null })
  #drawn = 0
  #told = 0
  #stop: (() => void)[] = []
  #known = new Map<string, Sweep>()
  #opening = 0

  #live = new client.Live()
  #sweeps = new client.Newest<SweepRequest, SweepReply>(
    this.#live.ask,
    (reply, q) => {
      const whole = q.columns.length > 0 && this.reply ? filled(reply, this.reply) : reply
      if (!whole) return // the range has changed meanwhile, and a whole answer to that is on its way
      const moved = this.reply !== null && !sameSpan(whole.span, this.reply.span)
      this.reply = reply = whole
      if (moved && this.beside.length > 0) this.#askOthers() // over the frequencies of now
      const now = performance.now()
      if (!this.moving || now - this.#told > readingAge) {
        this.sweep = reply.sweep
        this.#told = now
      }
      if (reply.drawing) this.drawing = reply.drawing
      this.problem = null
      this.lost = false
      this.answers++
    },
    (error) => this.#failed(error),
  )

  #screens = new client.Newest<ScreenRequest, Screen>(
    client.screen,
    (screen) => {
      this.screen = screen
      this.screenProblem = ''
    },
    (error) => {
      this.screen = null
      this.screenProblem = error instanceof client.Refused ? error.problem.message : ''
      if (!this.screenProblem) this.#failed(error)
    },
  )

  #besides = new client.Live()
  #others = new client.Newest<BesideWish[], Beside[]>(
    async (wishes) => {
      const out: Beside[] = []
      const keep = new Map<string, Sweep>()
      for (const w of wishes) {
        const key = JSON.stringify(w.request)
        let sweep = this.#known.get(key) ?? null
        try {
          sweep ??= (await this.#besides.ask(w.request)).sweep
          keep.set(key, sweep)
        } catch (error) {
          if (error instanceof client.Lost) throw error
          // A pin whose box is gone or in error keeps its name and shows no trace.
        }
        out.push({ name: w.name, kind: w.kind, sweep })
      }
      this.#known = keep
      return out
    },
    (beside) => (this.beside = beside),
    (error) => {
      this.#besideKey = ''
      this.#failed(error)
    },
  )

  // What follows from the above.
  /** Every measured trace that is drawn. */
  drawn = $derived(this.trying ? [...this.dots, this.trying] : this.dots)
  setting = $derived(this.state.setting)
  budget = $derived<Budget | null>(this.sweep?.power_budget[0] ?? null)
  reading = $derived<Reading | null>(this.sweep?.readings[0] ?? null)
  /** The readings are those of the trace that is shown: the highest voltage and the highest gain may lie apart. */
  peakOf = $derived(peakOf(this.state.view))
  shares = $derived(new Map<string, Share>((this.budget?.shares ?? []).map((s) => [s.name, s])))
  /** What is looked at: the range of the address, else that of the setup. */
  span = $derived<Span>(
    this.state.span ?? {
      from_hz: this.setup?.from_hz ?? 1e6,
      to_hz: this.setup?.to_hz ?? 2e6,
      points: this.setup?.points ?? 401,
      log: this.setup?.log ?? false,
    },
  )
  /** How long the generator takes for the range, in s. */
  sweepTime = $derived(this.state.time ?? (this.setup && this.setup.time_s > 0 ? this.setup.time_s : 0.1))
  changed = $derived(this.state.changes.length + this.state.setupChanges.length)

  /** Reads the address and the folder, and begins to listen. */
  start(): void {
    this.state = readAddress(location.search)
    const back = () => {
      const before = this.state
      this.state = readAddress(location.search)
      if (before.box !== this.state.box || before.setup !== this.state.setup) void this.open()
      else {
        this.state = { ...this.state, setting: this.#complete(this.state.setting) }
        this.#step('back')
        this.ask()
      }
    }
    addEventListener('popstate', back)
    let opened = false
    this.#stop = [
      () => [this.#lanesAbort, this.#placeAbort, this.#chartAbort, this.#dotsAbort].forEach((a) => a.abort()),
      () => this.#live.close(),
      () => this.#besides.close(),
      () => removeEventListener('popstate', back),
      client.listen({
        changed: () => void this.open(),
        opened: () => {
          if (opened) void this.open() // it was away; anything may have changed
          opened = true
        },
        broken: () => void this.#lookForServer(),
      }),
    ]
    void this.open()
  }

  stop(): void {
    for (const end of this.#stop) end()
  }

  /** Reads the folder, the box and the setup anew, and asks for everything that depends on them. */
  async open(): Promise<void> {
    const turn = ++this.#opening
    try {
      const bench = await client.getBench()
      const boxFile = this.state.box || bench.box
      const setupFile = this.state.setup || bench.setup
      const [box, setup] = await Promise.allSettled([
        boxFile ? client.getBox(boxFile) : null,
        setupFile ? client.getSetup(setupFile) : null,
      ])
      if (turn !== this.#opening) return // a newer reading is on its way
      for (const r of [box, setup]) if (r.status === 'rejected' && !(r.reason instanceof client.Refused)) throw r.reason
      this.lost = false
      this.bench = bench
      const other = this.box?.file !== boxFile
      if (other || this.setup?.file !== setupFile) this.#sweeps.forget()
      if (box.status === 'fulfilled' && box.value) {
        this.#rebase(this.box, box.value, this.state.changes)
        this.box = box.value
      }
      else if (other) {
        this.box = null
        this.drawing = null
        this.reply = null
        this.sweep = null
      }
      if (setup.status === 'fulfilled' && setup.value) {
        this.#rebase(this.setup, setup.value, this.state.setupChanges)
        this.setup = setup.value
      } else if (this.setup?.file !== setupFile) this.setup = null
      const refused = [box, setup].find((r) => r.status === 'rejected')
      if (refused?.status === 'rejected') this.problem = (refused.reason as client.Refused).problem
      this.state = { ...this.state, box: boxFile, setup: setupFile, setting: this.#complete(this.state.setting) }
      if (other) this.#steps.restart(this.#moment())
      this.#sayUndo()
      this.#write(false)
      this.#known.clear()
      this.#besideKey = ''
      if (this.box && this.setup) {
        this.#drawn = 0
        this.ask()
      }
      const measurements = this.box ? await client.getMeasurements(boxFile) : { list: [], files: [], errors: [] }
      if (turn !== this.#opening) return
      this.measurements = measurements
      this.#dotsKey = ''
      void this.#askDots()
    } catch (error) {
      if (turn === this.#opening) this.#failed(error)
    }
  }

  #based = new Map<string, string>()

  /**
   * Notes the version of a file that its changes are made to: the newest, unless the file now has another text where one of
   * them stands. Keeping it then is a conflict, which the server tells.
   */
  #rebase(before: Box | Setup | null, now: Box | Setup, changes: Change[]): void {
    const texts = (x: Box | Setup) => changes.map((c) => fieldsOf(x).find((f) => same(f.path, c.path))?.text ?? '')
    if (before?.file === now.file && this.#based.has(now.file) && !same(texts(before), texts(now))) return
    this.#based.set(now.file, now.version)
  }

  /** Every control of the box, at what was asked for or else where the box starts. */
  #complete(wanted: Setting): Setting {
    if (!this.box) return wanted
    const setting: Setting = {}
    for (const c of this.box.controls) {
      const w = wanted[c.name]
      if (c.kind === 'knob' && typeof w === 'number') setting[c.name] = within(c, w)
      else setting[c.name] = typeof w === 'string' && c.positions.includes(w) ? w : this.box.start[c.name]
    }
    return setting
  }

  /** The question that the page asks at this moment. */
  request(drawing: boolean): SweepRequest {
    const s = this.state
    return {
      box: s.box,
      setup: s.setup,
      source: s.source,
      load: s.load,
      setting: s.setting,
      span: s.span,
      changes: s.changes,
      setup_changes: s.setupChanges,
      cursor_hz: s.cursor,
      peak: peakOf(s.view),
      columns: [],
      reject_hz: s.reject,
      drawing,
    }
  }

  ask(): void {
    if (!this.box || !this.setup) return
    const s = this.state
    const now = performance.now()
    const drawing = !this.moving || now - this.#drawn > drawingAge
    if (drawing) this.#drawn = now
    // While a control moves only the trace that is shown is sent, over the frequencies that the page has already.
    const columns = this.moving && this.reply ? columnsOf(s.view, s.side) : []
    this.#sweeps.want({ ...this.request(drawing), columns })
    this.#askOthers()
    if (s.view === 'screen') this.#screens.want({ ...this.request(false), time_s: this.sweepTime })
    if (!this.moving) void this.#askLanes()
    if (!this.moving) void this.#askDots()
  }

  /** Shows a measured trace as dots, or no longer. */
  showMeasured(id: string, on: boolean): void {
    const rest = this.state.measured.filter((x) => x !== id)
    this.#change({ measured: on ? [...rest, id] : rest })
    void this.#askDots()
  }

  #dotsKey = ''
  #dotsAbort = new AbortController()

  /** Asks for the measured traces that are shown, beside the model with what is changed. */
  async #askDots(): Promise<void> {
    const shown = this.measurements.list.filter((m) => this.state.measured.includes(idOf(m)))
    const key = JSON.stringify([shown.map(idOf), this.state.changes, this.bench?.changes])
    if (key === this.#dotsKey) return
    this.#dotsKey = key
    this.#dotsAbort.abort()
    const abort = (this.#dotsAbort = new AbortController())
    const dots: Dots[] = []
    for (const m of shown) {
      const one: Dots = { id: idOf(m), of: m, trace: null, wrong: '' }
      try {
        one.trace = await client.measured({ file: m.file, index: m.index, changes: this.state.changes }, abort.signal)
      } catch (error) {
        if (abort.signal.aborted) return
        if (!(error instanceof client.Refused)) return this.#failed(error)
        one.wrong = error.problem.message
      }
      dots.push(one)
    }
    if (!abort.signal.aborted) this.dots = dots
  }

  #askOthers(): void {
    const s = this.state
    const columns = ['frequency_hz', ...columnsOf(s.view, s.side)]
    const plain = { ...this.request(false), cursor_hz: null, reject_hz: [], columns }
    const wishes: BesideWish[] = s.pins.map((p) => ({
      name: p.name,
      kind: 'pinned',
      request: {
        ...plain,
        // What was connected when it was pinned, over the frequencies of now.
        ...(p.setup ? { setup: p.setup, source: p.source, load: p.load, setup_changes: p.setupChanges } : {}),
        span: s.span ?? this.reply?.span ?? null,
        box: p.box,
        setting: p.setting,
        changes: p.changes,
      },
    }))
    if (this.changed > 0) {
      // The span stays that of the changed sweep, so that both stand over the same frequencies.
      wishes.push({ name: 'as filed', kind: 'filed', request: { ...plain, changes: [], setup_changes: [], span: s.span ?? this.reply?.span ?? null } })
    }
    const key = JSON.stringify(wishes)
    if (key === this.#besideKey) return // a knob that moves changes none of them
    this.#besideKey = key
    this.#others.want(wishes)
  }

  #besideKey = '[]'

  /** Takes the lanes away, and what else belongs to the box that was shown. */
  #forgetLanes(): void {
    this.#lanesKey = ''
    this.lanes = this.chart = null
    this.lanesProblem = ''
    for (const a of [this.#lanesAbort, this.#placeAbort, this.#chartAbort, this.#dotsAbort]) a.abort()
    this.measurements = { list: [], files: [], errors: [] }
    this.dots = []
    this.trying = null
    this.#dotsKey = ''
    this.lanesDone = this.chartDone = 1
  }

  #lanesKey = ''
  #lanesAbort = new AbortController()
  #placeAbort = new AbortController()
  #chartAbort = new AbortController()

  /** Asks for the lanes anew where box, source, load or range are others; the controls do not matter. */
  async #askLanes(): Promise<void> {
    const q = { ...this.request(false), cursor_hz: null, reject_hz: [] }
    const key = JSON.stringify([{ ...q, setting: null, peak: '' }, this.box?.version, this.setup?.version, this.bench?.changes])
    if (key === this.#lanesKey) return
    this.#lanesKey = key
    this.chart = null // it belongs to what was connected before, and so does what is on its way
    this.stopChart()
    this.#placeAbort.abort()
    this.#lanesAbort.abort()
    const abort = (this.#lanesAbort = new AbortController())
    try {
      const lanes = await client.lanes(q, abort.signal, (done) => {
        if (!abort.signal.aborted) this.lanesDone = done
      })
      if (abort.signal.aborted) return
      this.lanes = lanes
      this.lanesProblem = ''
    } catch (error) {
      if (abort.signal.aborted) return
      this.#lanesKey = ''
      this.lanes = null
      this.lanesProblem = error instanceof client.Refused ? error.problem.message : ''
    }
    this.lanesDone = 1
  }

  /** Whether the switches stand as in a lane. */
  inLane(lane: Lane): boolean {
    return lane.switches.every((s) => this.state.setting[s.control] === s.at)
  }

  /** Puts all controls where a lane has its strongest peak at a frequency; returns why not, where that cannot be. */
  async place(lane: Lane, hz: number): Promise<string> {
    this.#placeAbort.abort()
    const abort = (this.#placeAbort = new AbortController())
    const setting = { ...this.state.setting, ...Object.fromEntries(lane.switches.map((s) => [s.control, s.at])) }
    try {
      const there = await client.place({ ...this.request(false), setting, frequency_hz: hz }, abort.signal)
      if (!abort.signal.aborted) this.setAll(there.setting as Setting, hz)
    } catch (error) {
      if (error instanceof client.Refused) return error.problem.message
      if (!abort.signal.aborted) this.#failed(error)
    }
    return ''
  }

  // Controls.

  /** Puts one control somewhere. mark groups what belongs together into one step of undo. */
  set(control: string, at: number | string, mark: string): void {
    if (this.box && this.box.file !== this.state.box) return // another box is on its way
    this.#placeAbort.abort() // who turns a knob no longer waits for it to be set
    if (this.state.setting[control] === at) return
    this.state = { ...this.state, setting: { ...this.state.setting, [control]: at } }
    const fresh = this.#step(mark)
    if (!this.moving) this.#write(fresh)
    this.ask()
  }

  /** A drag begins or ends. The address follows at its end. */
  drag(on: boolean): void {
    if (this.moving === on) return
    this.moving = on
    if (!on) {
      this.#write(true)
      this.ask()
    }
  }

  #moment(): Moment {
    const { setting, changes, setupChanges, cursor } = this.state
    return { setting, changes, setupChanges, cursor }
  }

  #step(mark: string): boolean {
    const fresh = this.#steps.record(this.#moment(), mark, performance.now())
    this.#sayUndo()
    return fresh
  }

  #sayUndo(): void {
    this.canUndo = this.#steps.canUndo
    this.canRedo = this.#steps.canRedo
  }

  undo = (): void => this.#travel((steps) => steps.undo())
  redo = (): void => this.#travel((steps) => steps.redo())

  #travel(way: (steps: Steps<Moment>) => Moment | null): void {
    const from = this.#steps.present
    const to = way(this.#steps)
    this.#sayUndo()
    if (!to) return
    // A cursor that was put somewhere since stays there.
    const cursor = this.state.cursor === from.cursor ? to.cursor : this.state.cursor
    this.state = { ...this.state, ...to, cursor, setting: this.#complete(to.setting) }
    this.#write(true)
    this.ask()
  }

  // Choices.

  chooseBox(file: string): void {
    this.panel = null
    this.problem = null
    this.conflict = null
    this.#forgetLanes()
    this.state = { ...this.state, box: file, setting: {}, changes: [], measured: [], cursor: null }
    this.#write(true)
    void this.open()
  }

  chooseSetup(file: string): void {
    if (this.panel?.kind === 'setup') this.panel = null
    this.problem = null
    this.conflict = null
    this.state = { ...this.state, setup: file, source: '', load: '', setupChanges: [], span: null, cursor: null }
    this.#write(true)
    void this.open()
  }

  /** Connects source or load of another setup; an empty file takes the setup's own again. */
  connect(end: 'source' | 'load', file: string): void {
    this.#change({ [end]: file === this.state.setup ? '' : file })
    this.ask()
  }

  look(view: View): void {
    this.#change({ view })
    this.ask()
  }
  lookFrom(side: Side): void {
    this.#change({ side })
    this.ask()
  }
  takes(time: number | null): void {
    this.#change({ time })
    this.ask()
  }
  refer(reference: number): void {
    this.#change({ reference })
  }
  /** Another range. The back button stops before moves in a row that have one mark. */
  range(span: Span | null, mark = ''): void {
    this.#change({ span }, this.#first(mark))
    this.ask()
  }
  cursorAt(hz: number | null, mark = ''): void {
    this.#change({ cursor: hz }, this.#first(mark))
    this.ask()
  }

  #row = { mark: '', at: 0 }

  /** Whether this is the first of moves in a row: they have one mark and follow each other within a second. */
  #first(mark: string): boolean {
    const now = performance.now()
    const first = mark === '' || mark !== this.#row.mark || now - this.#row.at > 1000
    this.#row = { mark, at: now }
    return first
  }
  reject(hz: number[]): void {
    this.#change({ reject: hz })
    this.ask()
  }

  pin(): void {
    const s = this.state
    const where = (this.box?.controls ?? [])
      .map((c) => {
        const at = s.setting[c.name]
        return c.kind === 'knob' && typeof at === 'number' ? `${c.name} ${readingText(c, at)}` : String(at)
      })
      .join(', ')
    const name = (where || this.box?.name || 'pinned') + (s.changes.length > 0 ? ', changed' : '')
    this.#change({
      pins: [...s.pins, { name, box: s.box, setup: s.setup, source: s.source, load: s.load, setting: s.setting, changes: s.changes, setupChanges: s.setupChanges }],
    })
    this.ask()
  }
  unpin(i: number): void {
    this.#change({ pins: this.state.pins.filter((_, j) => j !== i) })
    this.ask()
  }
  rename(i: number, name: string): void {
    this.#change({ pins: this.state.pins.map((p, j) => (j === i ? { ...p, name } : p)) })
    this.ask()
  }
  /** Sets the box as a pin has it; what is connected stays. Undo brings back what was. */
  recall(pin: Pin): void {
    if (pin.box !== this.state.box) return
    this.state = { ...this.state, setting: this.#complete(pin.setting), changes: pin.changes }
    this.#step('recall ' + performance.now())
    this.#write(true)
    this.ask()
  }

  // What if.

  /** Changes one value of the box or the setup, not in its file. filed is what the file has there. */
  whatIf(of: 'box' | 'setup', path: string[], text: string, filed: string): void {
    const key = of === 'box' ? 'changes' : 'setupChanges'
    const filedNow = of === 'box' ? this.box : this.setup
    if (filedNow && this.state[key].length === 0) this.#based.set(filedNow.file, filedNow.version)
    const rest = this.state[key].filter((c) => !same(c.path, path))
    const change = text.trim() === filed ? [] : [{ path, text: text.trim(), remove: text.trim() === '' }]
    this.#change({ [key]: [...rest, ...change] })
    this.#step('what if ' + performance.now())
    this.ask()
  }
  /** Puts values that were found into the box, in one step; each has a remark to stand behind it in the file. */
  put(values: { path: string[]; text: string; remark: string }[]): void {
    if (this.box && this.state.changes.length === 0) this.#based.set(this.box.file, this.box.version)
    for (const v of values) this.#remarks.set(JSON.stringify([this.state.box, v.path, v.text]), v.remark)
    const rest = this.state.changes.filter((c) => !values.some((v) => same(v.path, c.path)))
    this.#change({ changes: [...rest, ...values.map(({ path, text }) => ({ path, text, remove: false }))] })
    this.#step('what if ' + performance.now())
    this.ask()
  }
  /** Remarks by file, place and text: a value that was changed by hand since has none. */
  #remarks = new Map<string, string>()

  drop(of: 'box' | 'setup', c: Change): void {
    const key = of === 'box' ? 'changes' : 'setupChanges'
    this.#change({ [key]: this.state[key].filter((x) => x !== c) })
    this.#step('drop ' + performance.now())
    this.ask()
  }
  dropAll(): void {
    this.#change({ changes: [], setupChanges: [] })
    this.#step('drop ' + performance.now())
    this.ask()
  }

  /** Writes the changes into their files. */
  async keep(): Promise<void> {
    const s = this.state
    if (s.changes.length > 0 && !(await this.#save('changes', s.box, this.#based.get(s.box) ?? '', s.changes))) return
    if (s.setupChanges.length > 0) await this.#save('setupChanges', s.setup, this.#based.get(s.setup) ?? '', s.setupChanges)
  }

  /** Writes the changes into a file that was changed meanwhile, as it is now. */
  async keepBoth(): Promise<void> {
    const c = this.conflict
    if (c && (await this.#save(c.of, c.file, c.conflict.version, c.changes))) this.notice = `${c.file}: both kept`
  }
  /** Takes the file as it is now and drops the page's changes to it. */
  takeTheirs(): void {
    const c = this.conflict
    if (!c) return
    this.conflict = null
    this.#settle(c.of, c.file, c.changes)
    void this.open()
  }

  async #save(of: 'changes' | 'setupChanges', file: string, version: string, changes: Change[]): Promise<boolean> {
    try {
      const remarks = changes.flatMap(({ path, text }) => {
        const remark = this.#remarks.get(JSON.stringify([file, path, text]))
        return remark === undefined ? [] : [{ path, text: remark }]
      })
      const { version: now } = await client.save({ file, version, changes, remarks })
      this.#based.set(file, now)
      this.conflict = null
      // First the file as it is now, then without the changes: their fields would show the old values in between.
      await this.open()
      this.#settle(of, file, changes)
      this.ask()
      this.notice = this.bench?.demo ? `${file} changed in memory` : `${file} written`
      return true
    } catch (error) {
      if (error instanceof client.Changed) this.conflict = { of, file, changes, conflict: error.conflict }
      else this.#failed(error)
      return false
    }
  }

  /** Takes away changes that are settled; what was changed since, or belongs to another file, stays. */
  #settle(of: 'changes' | 'setupChanges', file: string, settled: Change[]): void {
    if (file !== (of === 'changes' ? this.state.box : this.state.setup)) return
    this.#change({ [of]: this.state[of].filter((c) => !settled.some((x) => equal(x, c))) })
    this.#steps.restart(this.#moment()) // what is in the file now cannot be undone here
    this.#sayUndo()
  }

  /** Asks for a file and hands it to the browser. */
  async export(format: string, dark: boolean): Promise<void> {
    const q: ExportRequest = { ...this.request(false), format, dark, reference_ohm: this.state.reference }
    await this.#hand(client.exported(q))
  }

  async exportChart(hz: number[], format: 'html' | 'csv'): Promise<void> {
    await this.#hand(client.chartFile({ ...this.request(false), frequencies_hz: hz, format }))
  }

  async #hand(file: Promise<client.Made>): Promise<void> {
    try {
      const { name, data } = await file
      const link = document.createElement('a')
      link.href = URL.createObjectURL(data)
      link.download = name
      link.click()
      setTimeout(() => URL.revokeObjectURL(link.href), 10_000)
      this.notice = `${name} made`
    } catch (error) {
      this.#failed(error)
    }
  }

  /** Asks where all controls go for each of some frequencies. */
  async makeChart(hz: number[]): Promise<void> {
    this.stopChart()
    const abort = (this.#chartAbort = new AbortController())
    this.chartDone = 0
    try {
      const chart = await client.chart({ ...this.request(false), frequencies_hz: hz, format: '' }, abort.signal, (done) => {
        if (!abort.signal.aborted) this.chartDone = done
      })
      if (abort.signal.aborted) return
      this.chart = chart
    } catch (error) {
      if (abort.signal.aborted) return
      this.#failed(error)
    }
    this.chartDone = 1
  }
  stopChart(): void {
    this.#chartAbort.abort()
    this.chartDone = 1
  }

  /** Sets all controls. */
  setAll(setting: Setting, cursor: number | null): void {
    this.#setAll(setting, { cursor })
    this.ask()
  }

  /** Whether a setup is one of those that the page can connect. */
  connects = (file: string): boolean => this.bench?.setups.some((s) => s.file === file) ?? false

  /** Sets all controls, and connects a setup with its own source and load; one that the page does not have is left to the person. */
  setUp(setting: Setting, file: string): void {
    if (!this.connects(file)) return this.setAll(setting, null)
    const own = { setup: file, source: '', load: '', cursor: null }
    if (file === this.state.setup) {
      this.#setAll(setting, own)
      return this.ask()
    }
    if (this.panel?.kind === 'setup') this.panel = null
    this.problem = this.conflict = null
    this.#setAll(setting, { ...own, setupChanges: [], span: null })
    void this.open()
  }

  #setAll(setting: Setting, part: Partial<State>): void {
    this.state = { ...this.state, ...part, setting: this.#complete(setting) }
    this.#step('all ' + JSON.stringify(setting))
    this.#write(true)
  }

  // Address and failures.

  #change(part: Partial<State>, fresh = true): void {
    this.state = { ...this.state, ...part }
    this.#write(fresh)
  }

  #write(fresh: boolean): void {
    const query = '?' + writeAddress(this.state)
    if (query === location.search) return
    if (fresh) history.pushState(null, '', query)
    else history.replaceState(null, '', query)
  }

  #failed(error: unknown): void {
    if (error instanceof client.Refused) this.problem = error.problem
    else if (error instanceof client.Lost) void this.#lookForServer()
    else this.problem = client.plain(String(error))
  }

  #looking = false

  /** Asks until the server answers again, then reads everything anew. */
  async #lookForServer(): Promise<void> {
    if (this.#looking) return
    this.#looking = true
    for (;;) {
      try {
        await client.getBench()
        break
      } catch {
        this.lost = true
        await new Promise((done) => setTimeout(done, 1000))
      }
    }
    this.#looking = false
    if (this.lost) await this.open()
  }
}
