// Generated from web/api.go by its test: UPDATE_GOLDEN=1 go test ./web

export interface Bench {
  folder: string
  demo: boolean
  changes: number
  box: string
  setup: string
  boxes: File[]
  setups: File[]
}

export interface File {
  file: string
  name: string
  about: string
  source: string
  load: string
  error: Problem | null
}

export interface Problem {
  message: string
  excerpt: string
  file: string
  line: number
  column: number
  inside: Range | null
}

export interface Range {
  from_hz: number | null
  to_hz: number | null
}

export interface Box {
  file: string
  version: string
  name: string
  about: string
  error: Problem | null
  controls: Control[]
  start: Record<string, number | string>
  parts: Part[]
}

export interface Control {
  name: string
  kind: string
  from: number
  to: number
  percent: boolean
  parts: string[]
  positions: string[]
}

export interface Part {
  name: string
  kind: string
  about: string
  fields: Field[]
}

export interface Field {
  path: string[]
  name: string
  text: string
  write: string
  about: string
}

export interface Setup {
  file: string
  version: string
  name: string
  about: string
  error: Problem | null
  groups: Group[]
  from_hz: number
  to_hz: number
  points: number
  log: boolean
  time_s: number
}

export interface Group {
  name: string
  kind: string
  about: string
  fields: Field[]
}

export interface SweepRequest {
  box: string
  setup: string
  source: string
  load: string
  setting: Record<string, number | string>
  span: Span | null
  changes: Change[]
  setup_changes: Change[]
  cursor_hz: number | null
  peak: string
  columns: string[]
  reject_hz: number[]
  drawing: boolean
}

export interface Span {
  from_hz: number
  to_hz: number
  points: number
  log: boolean
}

export interface Change {
  path: string[]
  text: string
  remove: boolean
}

export interface SweepReply {
  sweep: Sweep
  span: Span
  drawing: Drawing | null
}

export interface Sweep {
  box: string
  setup: string
  setting: Record<string, number | string>
  emf_v: number | null
  frequency_hz: (number | null)[]
  load_v: (number | null)[]
  load_phase_deg: (number | null)[]
  straight_v: (number | null)[]
  insertion_gain_db: (number | null)[]
  transducer_gain_db: (number | null)[]
  input_mismatch_db: (number | null)[]
  dissipation_db: (number | null)[]
  zin_re_ohm: (number | null)[]
  zin_im_ohm: (number | null)[]
  zout_re_ohm: (number | null)[]
  zout_im_ohm: (number | null)[]
  features: Features[]
  readings: Reading[]
  power_budget: Budget[]
  warnings: string[]
}

export interface Features {
  trace: string
  where: string
  peak_hz: number | null
  peak_db: number | null
  low_3db_hz: number | null
  high_3db_hz: number | null
  bandwidth_hz: number | null
  loaded_q: number | null
  shape_factor: number | null
  other_peaks: Peak[]
  rejections: Rejection[]
}

export interface Peak {
  frequency_hz: number | null
  level_db: number | null
}

export interface Rejection {
  frequency_hz: number | null
  rejection_db: number | null
}

export interface Reading {
  frequency_hz: number | null
  load_v: number | null
  load_phase_deg: number | null
  straight_v: number | null
  insertion_gain_db: number | null
  transducer_gain_db: number | null
  input_mismatch_db: number | null
  dissipation_db: number | null
  zin_re_ohm: number | null
  zin_im_ohm: number | null
  zout_re_ohm: number | null
  zout_im_ohm: number | null
}

export interface Budget {
  frequency_hz: number | null
  available_w: number | null
  shares: Share[]
  sum: number | null
}

export interface Share {
  name: string
  kind: string
  watts: number | null
  fraction: number | null
}

export interface Drawing {
  title: string
  about: string
  width: number
  height: number
  shapes: Shape[]
  wires: Wire[]
  joints: Point[]
  grounds: Ground[]
  texts: Text[]
  switches: SwitchMark[]
  dials: DialMark[]
  gangs: GangMark[]
  couplings: Coupling[]
  nodes: NodeLabel[]
}

export interface Shape {
  part: string
  winding: number
  control: string
  kind: string
  paths: Path[]
  label: Text
  value: string
  box: Rect
  terminals: Terminal[]
  pale: boolean
}

export interface Path {
  d: string
  stroke: number
  fill: boolean
  pale: boolean
}

export interface Text {
  at: Point
  lines: string[]
  anchor: string
  size: number
  bold: boolean
  muted: boolean
  box: Rect
}

export interface Point {
  x: number
  y: number
}

export interface Rect {
  x: number
  y: number
  w: number
  h: number
}

export interface Terminal {
  node: string
  at: Point
  free: boolean
}

export interface Wire {
  node: string
  points: Point[]
  pale: boolean
}

export interface Ground {
  x: number
  y: number
  pale: boolean
}

export interface SwitchMark {
  control: string
  position: string
  room: Rect
  title: Text
  pills: Pill[]
}

export interface Pill {
  position: string
  text: string
  room: Rect
}

export interface DialMark {
  control: string
  part: string
  center: Point
  radius: number
  turn: number
  reading: string
  title: Text
  room: Rect
  pale: boolean
}

export interface GangMark {
  control: string
  part: string
  center: Point
  room: Rect
  text: Text
}

export interface Coupling {
  part: string
  first: number
  second: number
  paths: Path[]
  text: Text
  box: Rect
}

export interface NodeLabel {
  node: string
  at: Point
  text: Text
  pale: boolean
}

export interface ExportRequest {
  box: string
  setup: string
  source: string
  load: string
  setting: Record<string, number | string>
  span: Span | null
  changes: Change[]
  setup_changes: Change[]
  cursor_hz: number | null
  peak: string
  columns: string[]
  reject_hz: number[]
  drawing: boolean
  format: string
  dark: boolean
  reference_ohm: number
}

export interface SaveRequest {
  file: string
  version: string
  changes: Change[]
  remarks: Remark[]
}

export interface Remark {
  path: string[]
  text: string
}

export interface SaveReply {
  version: string
}

export interface Conflict {
  version: string
  theirs: string
  mine: string
}

export interface Failure {
  error: Problem
}

export interface Step {
  done: number | null
  lanes: Lanes | null
  chart: TuningChart | null
  values: FoundValue[]
  best: string
  identified: Identified | null
  compared: Compared | null
  proposed: Proposed | null
  nothing: string
  error: Problem | null
}

export interface Lanes {
  frequency_hz: (number | null)[]
  log: boolean
  lanes: Lane[]
  use: Use[]
  gaps: Range[]
  silent: number
}

export interface Lane {
  name: string
  switches: Position[]
  peak_db: (number | null)[]
  ranges: Range[]
  knobs: Effect[]
}

export interface Position {
  control: string
  at: string
}

export interface Effect {
  control: string
  at_hz: number | null
  peak_hz_per_division: number | null
  level_db_per_division: number | null
}

export interface Use {
  from_hz: number | null
  to_hz: number | null
  lane: number
}

export interface TuningChart {
  box: string
  setup: string
  results: ChartLine[]
  warnings: string[]
}

export interface ChartLine {
  frequency_hz: number | null
  setting: Record<string, number | string>
  turned: string[]
  insertion_gain_db: number | null
  transducer_gain_db: number | null
  given_up_db: number | null
  peak_hz: number | null
  bandwidth_hz: number | null
  dial_tolerance: Record<string, Limit>
}

export interface Limit {
  low: number | null
  high: number | null
}

export interface FoundValue {
  name: string
  part: string
  field: string
  value: number | null
  low: number | null
  high: number | null
  determined: boolean
  unit: string
  text: string
  why: string
  by_profile: boolean
  at_bound: boolean
  path: string[]
  write: string
}

export interface Identified {
  box: string
  status: string
  values: FoundValue[]
  residual_rms: number | null
  residual_runs: number | null
  degenerate: Degenerate[]
  dials: FoundDial[]
  measurements: FoundFit[]
  loss: string
  stop: string
  reading_error: number | null
  starts: number
  starts_same: number
  evaluations: number
  points: number
  parameters: number
  warnings: string[]
}

export interface Degenerate {
  parts: string[]
  determined_combination: string
  value: number | null
  half_width: number | null
  text: string
}

export interface FoundDial {
  measurement: string
  control: string
  read: number | null
  found: number | null
  low: number | null
  high: number | null
}

export interface FoundFit {
  name: string
  residual_rms: number | null
  noise: number | null
  level: number | null
  floor: number | null
  worst_hz: number | null
  frequency_hz: (number | null)[]
  measured: (number | null)[]
  model: (number | null)[]
  low: (number | null)[]
  high: (number | null)[]
}

export interface Compared {
  candidates: RankedCandidate[]
  explained: boolean
  difference: Difference | null
  warnings: string[]
}

export interface RankedCandidate {
  name: string
  about: string
  rank: number
  weight: number | null
  criterion_behind: number | null
  residual_rms: number | null
  parameters: number
  values: FoundValue[]
  status: string
  not_told_from: string[]
  screened: boolean
  error: string
}

export interface Difference {
  first: string
  second: string
  setting: Record<string, number | string>
  setup: string
  setup_file: string
  frequency_hz: number | null
  difference_db: number | null
  standard_deviations: number | null
}

export interface Proposed {
  proposals: Proposal[]
  tried: number
  warnings: string[]
}

export interface Proposal {
  setting: Record<string, number | string>
  setup: string
  setup_file: string
  reference: boolean
  peak_hz: number | null
  gain: number | null
  values: Expected[]
}

export interface Expected {
  name: string
  before: number | null
  after: number | null
  wanted: boolean
}

export interface PlaceRequest {
  box: string
  setup: string
  source: string
  load: string
  setting: Record<string, number | string>
  span: Span | null
  changes: Change[]
  setup_changes: Change[]
  cursor_hz: number | null
  peak: string
  columns: string[]
  reject_hz: number[]
  drawing: boolean
  frequency_hz: number
}

export interface PlaceReply {
  setting: Record<string, number | string>
  insertion_gain_db: number | null
}

export interface ChartRequest {
  box: string
  setup: string
  source: string
  load: string
  setting: Record<string, number | string>
  span: Span | null
  changes: Change[]
  setup_changes: Change[]
  cursor_hz: number | null
  peak: string
  columns: string[]
  reject_hz: number[]
  drawing: boolean
  frequencies_hz: number[]
  format: string
}

export interface Measurements {
  list: Measurement[]
  files: string[]
  errors: Problem[]
}

export interface Measurement {
  file: string
  index: number
  name: string
  setup: string
  setting: Record<string, number | string>
  doubtful: string[]
  quantity: string
}

export interface MeasuredRequest {
  file: string
  index: number
  changes: Change[]
}

export interface Measured {
  name: string
  setting: Record<string, number | string>
  shown: string
  frequency_hz: (number | null)[]
  measured_db: (number | null)[]
  model_db: (number | null)[]
  residual_db: (number | null)[]
  insertion_gain_db: (number | null)[]
  load_v: (number | null)[]
  offset_db: number | null
  offset_fitted: boolean
  rms_db: number | null
  noise_db: number | null
  worst_db: number | null
  worst_hz: number | null
  s_distance: number | null
  peak_shift_hz: number | null
  read: string[]
  warnings: string[]
}

export interface Dropped {
  id: string
  name: string
  quantity: string
  columns: string[]
  over_time: boolean
  read: string
  error: Problem | null
}

export interface NewMeasurement {
  id: string
  box: string
  changes: Change[]
  name: string
  setup: string
  setting: Record<string, number | string>
  doubtful: string[]
  quantity: string
  channel: string
  reference: string
  noise: string
  lag_of: string
  deconvolve: boolean
  from: string
  to: string
  time: string
  spacing: string
  start: string
  delimiter: string
  decimal: string
  header: string
  abscissa: string
  axis: string
  unit: string
  interval: string
}

export interface Trial {
  trace: string
  file: string
  measured: Measured
}

export interface Kept {
  trace: string
  file: string
  index: number
}

export interface InsideRequest {
  file: string
  changes: Change[]
  what: string
}

export interface ScreenRequest {
  box: string
  setup: string
  source: string
  load: string
  setting: Record<string, number | string>
  span: Span | null
  changes: Change[]
  setup_changes: Change[]
  cursor_hz: number | null
  peak: string
  columns: string[]
  reject_hz: number[]
  drawing: boolean
  time_s: number
}

export interface Screen {
  time_s: (number | null)[]
  envelope_v: (number | null)[]
  steady_v: (number | null)[]
}
