// The state of the page as an address, so that it can be pasted to a friend and the back button works.

import type { Change, Span } from './api'

export type Setting = Record<string, number | string>

/** What the trace shows. */
export const views = ['dB', 'volts', 'phase', 'smith', 'screen'] as const
export type View = (typeof views)[number]

/** Which impedance the Smith chart shows. */
export const sides = ['source', 'load'] as const
export type Side = (typeof sides)[number]

/** A trace that stays while the knobs are turned and other things are connected. */
export interface Pin {
  name: string
  box: string
  setup: string // empty in an address that was written by hand: the one of now
  source: string
  load: string
  setting: Setting
  changes: Change[]
  setupChanges: Change[]
}

export interface State {
  box: string
  setup: string
  source: string // the setup whose source is connected instead of setup's own, or empty
  load: string // the same for load and probe
  setting: Setting
  span: Span | null
  view: View
  side: Side
  reference: number // ohm, of the Smith chart
  time: number | null // s, of the sweep on the oscilloscope's screen; null: the setup's
  cursor: number | null // Hz; null: at the peak
  reject: number[] // Hz
  pins: Pin[]
  measured: string[] // measurements that are shown: file#index
  changes: Change[] // of the box
  setupChanges: Change[]
}

export const blank = (): State => ({
  box: '',
  setup: '',
  source: '',
  load: '',
  setting: {},
  span: null,
  view: 'dB',
  side: 'source',
  reference: 50,
  time: null,
  cursor: null,
  reject: [],
  pins: [],
  measured: [],
  changes: [],
  setupChanges: [],
})

const boxEnding = '.box.yaml'
const setupEnding = '.setup.yaml'
const short = (file: string, ending: string) => (file.endsWith(ending) ? file.slice(0, -ending.length) : file)
const long = (name: string, ending: string) => (name === '' || name.endsWith(ending) ? name : name + ending)

// A change is its path with slashes and, behind an equals sign, its text; a minus in front takes the key away.
const escape = (key: string) => key.replace(/[\\/=]/g, (sign) => '\\' + sign)

function writeChange(c: Change): string {
  return (c.remove ? '-' : '+') + c.path.map(escape).join('/') + '=' + (c.remove ? '' : c.text)
}

function readChange(text: string): Change | null {
  if (text[0] !== '+' && text[0] !== '-') return null
  const path: string[] = []
  let key = ''
  for (let i = 1; i < text.length; i++) {
    const sign = text[i]
    if (sign === '\\') key += text[++i] ?? ''
    else if (sign === '/') path.push(key), (key = '')
    else if (sign === '=') {
      path.push(key)
      return { path, text: text[0] === '-' ? '' : text.slice(i + 1), remove: text[0] === '-' }
    } else key += sign
  }
  return null
}

function writeSetting(into: URLSearchParams, setting: Setting) {
  for (const name of Object.keys(setting).sort()) {
    const at = setting[name]
    into.append((typeof at === 'number' ? 'knob.' : 'switch.') + name, String(at))
  }
}

function readSetting(from: URLSearchParams): Setting {
  const setting: Setting = {}
  for (const [key, text] of from) {
    if (key.startsWith('knob.')) {
      const at = Number(text)
      if (text !== '' && Number.isFinite(at)) setting[key.slice(5)] = at
    } else if (key.startsWith('switch.')) setting[key.slice(7)] = text
  }
  return setting
}

const readChanges = (from: URLSearchParams, key: string) =>
  from.getAll(key).flatMap((text) => readChange(text) ?? [])

function positive(text: string | null): number | null {
  const value = Number(text)
  return text !== null && value > 0 && Number.isFinite(value) ? value : null
}

/** The query of an address, without its question mark. What stands as it stands anyway is left out. */
export function writeAddress(s: State): string {
  const q = new URLSearchParams()
  if (s.box) q.set('box', short(s.box, boxEnding))
  if (s.setup) q.set('setup', short(s.setup, setupEnding))
  if (s.source) q.set('source', short(s.source, setupEnding))
  if (s.load) q.set('load', short(s.load, setupEnding))
  writeSetting(q, s.setting)
  if (s.span) {
    q.set('from', String(s.span.from_hz))
    q.set('to', String(s.span.to_hz))
    q.set('points', String(s.span.points))
    if (s.span.log) q.set('spacing', 'log')
  }
  if (s.view !== 'dB') q.set('view', s.view)
  if (s.side !== 'source') q.set('side', s.side)
  if (s.reference !== 50) q.set('reference', String(s.reference))
  if (s.time !== null) q.set('time', String(s.time))
  if (s.cursor !== null) q.set('cursor', String(s.cursor))
  for (const hz of s.reject) q.append('reject', String(hz))
  for (const m of s.measured) q.append('measured', m)
  for (const c of s.changes) q.append('change', writeChange(c))
  for (const c of s.setupChanges) q.append('setup-change', writeChange(c))
  for (const p of s.pins) {
    const pin = new URLSearchParams({ name: p.name, box: short(p.box, boxEnding) })
    for (const end of ['setup', 'source', 'load'] as const) if (p[end]) pin.set(end, short(p[end], setupEnding))
    writeSetting(pin, p.setting)
    for (const c of p.changes) pin.append('change', writeChange(c))
    for (const c of p.setupChanges) pin.append('setup-change', writeChange(c))
    q.append('pin', pin.toString())
  }
  return q.toString()
}

/** Reads an address; what cannot be read counts as left out. */
export function readAddress(query: string): State {
  const q = new URLSearchParams(query)
  const s = blank()
  s.box = long(q.get('box') ?? '', boxEnding)
  s.setup = long(q.get('setup') ?? '', setupEnding)
  s.source = long(q.get('source') ?? '', setupEnding)
  s.load = long(q.get('load') ?? '', setupEnding)
  s.setting = readSetting(q)
  const from = positive(q.get('from'))
  const to = positive(q.get('to'))
  if (from !== null && to !== null && to > from) {
    const points = Math.round(positive(q.get('points')) ?? 401)
    s.span = { from_hz: from, to_hz: to, points: Math.max(points, 2), log: q.get('spacing') === 'log' }
  }
  s.view = views.find((v) => v === q.get('view')) ?? s.view
  s.side = sides.find((v) => v === q.get('side')) ?? s.side
  s.reference = positive(q.get('reference')) ?? s.reference
  s.time = positive(q.get('time'))
  s.cursor = positive(q.get('cursor'))
  s.reject = [...new Set(q.getAll('reject').flatMap((text) => positive(text) ?? []))]
  s.measured = [...new Set(q.getAll('measured'))]
  s.changes = readChanges(q, 'change')
  s.setupChanges = readChanges(q, 'setup-change')
  s.pins = q.getAll('pin').map((text) => {
    const pin = new URLSearchParams(text)
    return {
      name: pin.get('name') ?? '',
      box: long(pin.get('box') ?? '', boxEnding),
      setup: long(pin.get('setup') ?? '', setupEnding),
      source: long(pin.get('source') ?? '', setupEnding),
      load: long(pin.get('load') ?? '', setupEnding),
      setting: readSetting(pin),
      changes: readChanges(pin, 'change'),
      setupChanges: readChanges(pin, 'setup-change'),
    }
  })
  return s
}
