// Texts of the core in the words of the page: the core speaks of files and of the command.

/** The sign of micro, as everywhere on the page; files have the letter that keyboards have. */
export const micro = (text: string): string => text.replace(/(\d\s?)u(?=(?:H|F|V|A|s|W|m|ohm|Ω)(?![A-Za-z]))/g, '$1µ')

/** A text as files have it. */
export const filed = (text: string): string => text.replaceAll('µ', 'u').replaceAll('Ω', 'ohm').replaceAll('−', '-')

const sentence = (text: string) => text.charAt(0).toUpperCase() + text.slice(1)

/** What the sheet of a new trace calls the keys of a file of measurements. */
const labels: Record<string, string> = {
  abscissa: 'column of times or frequencies',
  axis: 'that column is',
  channel: 'column',
  decimal: 'decimal sign',
  deconvolve: 'take out all that the sweep adds',
  delimiter: 'delimiter',
  first: 'first row',
  from: 'from',
  header: 'lines above the numbers',
  interval: 'from row to row',
  'lag of': 'lag of a resonance',
  quantity: 'holds',
  reference: 'straight through',
  start: 'starts',
  time: 'takes',
  to: 'to',
  units: 'its unit',
}
const quantities: Record<string, string> = { amplitude: 'amplitudes', dB: 'levels in dB', waveform: 'a waveform of the sweep', 's-parameters': 'S-parameters' }
const quoted = (key: string) => `“${labels[key]}”`

/** A message about a trace, with the labels of the sheet for the keys of the file. */
export function ofSheet(message: string): string {
  const told = message
    .replace(/write `quantity: ([\w-]+)`/g, (whole, q: string) => (quantities[q] ? `choose ${quoted('quantity')} ${quantities[q]}` : whole))
    .replace(/`quantity: ([\w-]+)`/g, (whole, q: string) => (quantities[q] ? `${quoted('quantity')} ${quantities[q]}` : whole))
    .replace(/(?:write )?`units: \{[^:`]*: ([^}`]*)\}`/g, `${quoted('units')} $1`)
    .replace(/`sweep: \{[^`]*\}`, or `time` to the setup's sweep/g, `${quoted('from')}, ${quoted('to')} and ${quoted('time')} of the sweep`)
    .replace(/number of `header` lines/g, quoted('header'))
    .replace(/`decimal` sign/g, quoted('decimal'))
    .replace(/`first` row/g, 'first row')
    .replace(/`([a-z ]+): ([^`{}]*)`/g, (whole, key: string, value: string) => (labels[key] ? `${quoted(key)} ${value}` : whole))
    .replace(/`([a-z ]+)`/g, (whole, key: string) => (labels[key] ? quoted(key) : whole))
  return micro(told)
}

/** A message of a fit, with the buttons of the page for the command. */
export function ofFit(message: string): string {
  const told = message
    .replace(/and try without it \(--only\)/, 'and try without it: take it out of the file of measurements')
    .replace(/: try more starts \(--starts\)/, ': ask for it with more starts, by the command')
    .replace(/try `knobwise compare`/, 'try “Compare circuits”')
    .replace(/with `knobwise compare`/, 'with “Compare circuits”')
    .replace(/`knobwise next` says/, '“What to measure next” says')
  return sentence(micro(told))
}

/** Warnings of a trace, with all values that are only guessed in one line. */
export function gathered(warnings: string[]): string[] {
  const guessed: string[] = []
  const rest: string[] = []
  for (const w of warnings) {
    const m = /^(.+): (.+) is not known; (.+) is taken$/.exec(w)
    if (m) guessed.push(`${m[2] === 'value' ? m[1] : m[2].startsWith('value ') ? m[1] + m[2].slice(5) : `${m[2]} of ${m[1]}`} ${m[3]}`)
    else rest.push(micro(w))
  }
  if (guessed.length === 1) return [micro(`Not known, and taken as ${guessed[0]}`), ...rest]
  return guessed.length > 0 ? [micro(`Not known, and taken as guessed: ${guessed.join(', ')}`), ...rest] : rest
}

const list = (all: string[]) => (all.length < 2 ? all.join('') : `${all.slice(0, -1).join(', ')} and ${all.at(-1)}`)

/** A note on circuits that were compared, with the numbers of the table for their names. like are those that the first is not told from. */
export function ofCompared(note: string, names: string[], like: string[]): string {
  if (/^these traces do not tell /.test(note) && like.length > 0) {
    const numbers = like.map((name) => names.indexOf(name) + 1).filter((n) => n > 0).sort((a, b) => a - b)
    return `${list(['1', ...numbers.map(String)])} cannot be told apart by these traces: they share the weight`
  }
  const longest = names.map((name, i) => ({ name, number: i + 1 })).sort((a, b) => b.name.length - a.name.length)
  let told = note
  for (const { name, number } of longest) told = told.replaceAll(`${name} (number ${number}, `, `number ${number} (`).replaceAll(name, `number ${number}`)
  return ofFit(told)
}

/** What a value of a file is called in tables: "Q of L1", "L1 in Range short". */
export function nameOf(path: string[]): string {
  const [first, control, , position, , part] = path
  if (first === 'controls' && path[2] === 'switch' && path[4] === 'values' && path.length === 6) return `${part} in ${control} ${position}`
  return path.filter((k) => k !== 'parts').join(' ')
}
