// The command under test: built once from this tree, or named by KNOBWISE.

import { execFileSync } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { TestProject } from 'vitest/node'

/** Builds the command into a folder of its own; end removes it. */
export function build(): { command: string; end: () => void } {
  const given = process.env.KNOBWISE
  if (given) return { command: given, end: () => {} }
  const folder = mkdtempSync(join(tmpdir(), 'knobwise-built-'))
  const command = join(folder, 'knobwise')
  const root = fileURLToPath(new URL('../../..', import.meta.url))
  execFileSync('go', ['build', '-o', command, './cmd/knobwise'], { cwd: root, stdio: ['ignore', 'inherit', 'inherit'] })
  return { command, end: () => rmSync(folder, { recursive: true, force: true }) }
}

export default function setup(project: TestProject): () => void {
  const { command, end } = build()
  project.provide('command', command)
  return end
}

declare module 'vitest' {
  export interface ProvidedContext {
    command: string
  }
}
