// The way to the server. Nothing else in the page fetches.

import type {
  Bench,
  Box,
  ChartRequest,
  Conflict,
  Dropped,
  ExportRequest,
  Failure,
  InsideRequest,
  Kept,
  Lanes,
  Measured,
  MeasuredRequest,
  Measurements,
  NewMeasurement,
  PlaceReply,
  PlaceRequest,
  Problem,
  SaveReply,
  SaveRequest,
  Screen,
  ScreenRequest,
  Setup,
  Step,
  SweepReply,
  SweepRequest,
  Trial,
  TuningChart,
} from './api'

/** A message that blames no file. */
export const plain = (message: string): Problem => ({ message, excerpt: '', file: '', line: 0, column: 0, inside: null })

/** The server answered, and its answer is an error as the command would tell it. */
export class Refused extends Error {
  constructor(readonly problem: Problem) {
    super(problem.message)
  }
}

/** The server did not answer. */
export class Lost extends Error {}

/** The file was changed since the page read it. */
export class Changed extends Error {
  constructor(readonly conflict: Conflict) {
    super('the file was changed meanwhile')
  }
}

async function ask(path: string, method = 'GET', body?: unknown, signal: AbortSignal | null = null): Promise<Response> {
  let response: Response
  try {
    response = await fetch('./api/' + path, {
      method,
      signal,
      ...(body === undefined ? {} : body instanceof Blob ? { body } : { body: JSON.stringify(body), headers: { 'Content-Type': 'application/json' } }),
    })
  } catch (cause) {
    throw new Lost('the server does not answer', { cause })
  }
  if (response.ok) return response
  const text = await response.text()
  let failure: Partial<Failure & Conflict> = {}
  try {
    failure = JSON.parse(text) as Partial<Failure & Conflict>
  } catch {
    // Refusals of the guards in front of the questions are plain text.
  }
  if (failure.theirs !== undefined) throw new Changed(failure as Conflict)
  throw new Refused(failure.error ?? plain(text.trim() || response.statusText))
}

async function json<T>(response: Promise<Response>): Promise<T> {
  const r = await response
  try {
    return (await r.json()) as T
  } catch (cause) {
    throw new Lost('the answer broke off', { cause })
  }
}

export const getBench = () => json<Bench>(ask('bench'))
export const getBox = (file: string) => json<Box>(ask('box?' + new URLSearchParams({ file }).toString()))
export const getSetup = (file: string) => json<Setup>(ask('setup?' + new URLSearchParams({ file }).toString()))
export const sweep = (q: SweepRequest) => json<SweepReply>(ask('sweep', 'POST', q))
export const place = (q: PlaceRequest, signal: AbortSignal) => json<PlaceReply>(ask('place', 'POST', q, signal))

/**
 * An answer that comes in pieces; told calls back with the part that is done. Ends at once where the signal aborts. The
 * last piece has what was asked for.
 */
async function pieces(response: Response, told: (done: number, step: Step) => void): Promise<Step> {
  const reader = response.body?.pipeThrough(new TextDecoderStream()).getReader()
  let text = ''
  while (reader) {
    const { value, done } = await reader.read()
    if (done) break
    text += value
    const lines = text.split('\n')
    text = lines.pop() ?? ''
    for (const line of lines) {
      const step = JSON.parse(line) as Step
      if (step.error) throw new Refused(step.error)
      if (step.lanes ?? step.chart ?? step.identified ?? step.compared ?? (step.nothing || null)) return step
      told(step.done ?? 0, step)
    }
  }
  throw new Lost('the answer broke off')
}

/** What every position of the switches can do. */
export async function lanes(q: SweepRequest, signal: AbortSignal, told: (done: number) => void): Promise<Lanes | null> {
  return (await pieces(await ask('lanes', 'POST', q, signal), told)).lanes
}

/** A setting for each of some frequencies. */
export async function chart(q: ChartRequest, signal: AbortSignal, told: (done: number) => void): Promise<TuningChart | null> {
  return (await pieces(await ask('chart', 'POST', q, signal), told)).chart
}

/** What measured traces tell of the inside of a box. */
export async function inside(q: InsideRequest, signal: AbortSignal, told: (done: number, step: Step) => void): Promise<Step> {
  return pieces(await ask('inside', 'POST', q, signal), told)
}

export const getMeasurements = (box: string) => json<Measurements>(ask('measurements?' + new URLSearchParams({ box }).toString()))
export const measured = (q: MeasuredRequest, signal: AbortSignal) => json<Measured>(ask('measured', 'POST', q, signal))
/** Hands a file over, to be looked at; nothing is written. */
export const drop = (file: File) => json<Dropped>(ask('dropped?' + new URLSearchParams({ name: file.name }).toString(), 'POST', file))
export const trial = (q: NewMeasurement) => json<Trial>(ask('trial', 'POST', q))
export const keepMeasurement = (q: NewMeasurement) => json<Kept>(ask('measurements', 'POST', q))
export const screen = (q: ScreenRequest) => json<Screen>(ask('screen', 'POST', q))
export const save = (q: SaveRequest) => json<SaveReply>(ask('file', 'PUT', q))

/** A file that the server makes, and the name that it gives it. */
export interface Made {
  name: string
  data: Blob
}

async function made(response: Promise<Response>, format: string): Promise<Made> {
  const r = await response
  const name = /filename="([^"]+)"/.exec(r.headers.get('Content-Disposition') ?? '')?.[1]
  return { name: name ?? 'knobwise.' + format, data: await r.blob() }
}

export const exported = (q: ExportRequest) => made(ask('export', 'POST', q), q.format)
export const chartFile = (q: ChartRequest) => made(ask('chart', 'POST', q), q.format)

const socketTo = (path: string) => new WebSocket(new URL('./api/' + path, location.href.replace(/^http/, 'ws')))

/** Calls back when the folder changes, and when the connection that tells it opens and breaks; it is opened again. */
export function listen(on: { changed: () => void; opened: () => void; broken: () => void }): () => void {
  let socket: WebSocket
  let again: ReturnType<typeof setTimeout>
  const open = () => {
    socket = socketTo('events')
    socket.onopen = on.opened
    socket.onmessage = on.changed
    socket.onclose = () => {
      on.broken()
      again = setTimeout(open, 500)
    }
  }
  open()
  return () => {
    clearTimeout(again)
    socket.onclose = null
    socket.close()
  }
}

/**
 * Sweeps over one open connection, for a knob that is being turned: single requests would cost most of each frame. Where
 * the connection is not to be had, single requests do.
 */
export class Live {
  #socket: WebSocket | null = null
  #waiting: { done: (a: SweepReply) => void; failed: (error: unknown) => void } | null = null

  /** One question at a time: ask again when the answer is there. */
  ask = async (q: SweepRequest): Promise<SweepReply> => {
    const socket = this.#socket
    if (socket?.readyState !== WebSocket.OPEN) {
      if (!socket) this.#open()
      return sweep(q)
    }
    try {
      return await new Promise<SweepReply>((done, failed) => {
        this.#waiting = { done, failed }
        socket.send(JSON.stringify(q))
      })
    } catch (error) {
      if (error instanceof Lost) return sweep(q)
      throw error
    }
  }

  #open(): void {
    const socket = socketTo('live')
    this.#socket = socket
    socket.onmessage = (e: MessageEvent<string>) => {
      const waiting = this.#waiting
      this.#waiting = null
      try {
        const answer = JSON.parse(e.data) as SweepReply | Failure
        if ('error' in answer) waiting?.failed(new Refused(answer.error))
        else waiting?.done(answer)
      } catch (cause) {
        waiting?.failed(new Lost('the answer broke off', { cause }))
      }
    }
    socket.onclose = () => {
      this.#socket = null
      this.#waiting?.failed(new Lost('the connection broke off'))
      this.#waiting = null
    }
  }

  close(): void {
    this.#socket?.close()
  }
}

/**
 * A queue of one: while a question is on its way, only the newest wish is kept. Answers come in the order of the
 * questions, because there is never more than one.
 */
export class Newest<Q, A> {
  #running = false
  #wish: { q: Q } | null = null
  #age = 0

  constructor(
    private readonly ask: (q: Q) => Promise<A>,
    private readonly answered: (a: A, q: Q) => void,
    private readonly failed: (error: unknown, q: Q) => void,
  ) {}

  want(q: Q): void {
    this.#wish = { q }
    if (!this.#running) void this.#run()
  }

  /** Forgets the wish, and the answer that is on its way: it belongs to what is no longer shown. */
  forget(): void {
    this.#wish = null
    this.#age++
  }

  async #run(): Promise<void> {
    this.#running = true
    while (this.#wish) {
      const { q } = this.#wish
      this.#wish = null
      const age = this.#age
      try {
        const a = await this.ask(q)
        if (age === this.#age) this.answered(a, q)
      } catch (error) {
        if (age === this.#age) this.failed(error, q)
      }
    }
    this.#running = false
  }
}
