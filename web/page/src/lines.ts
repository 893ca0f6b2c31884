// The lines in which two texts differ.

export interface Line {
  text: string
  alone: boolean // the other text has no such line
}

/** The lines of a text, and which of them another text does not have. */
export function marked(text: string, other: string): Line[] {
  const there = new Set(other.split('\n'))
  return text
    .replace(/\n$/, '')
    .split('\n')
    .map((line) => ({ text: line, alone: !there.has(line) }))
}
