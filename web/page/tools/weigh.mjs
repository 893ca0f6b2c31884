// Prints what the built page weighs on the wire, and fails above the limit.
import { readdirSync, readFileSync } from 'node:fs'
import { gzipSync } from 'node:zlib'

const limit = 150_000
const folder = new URL('../dist/assets/', import.meta.url)
let script = 0
for (const name of readdirSync(folder).sort()) {
  const size = gzipSync(readFileSync(new URL(name, folder)), { level: 9 }).length
  if (name.endsWith('.js')) script += size
  console.log(`${name}: ${(size / 1000).toFixed(1)} kB gzipped`)
}
console.log(`page script: ${(script / 1000).toFixed(1)} kB gzipped of ${limit / 1000} kB allowed`)
if (script > limit) process.exit(1)
