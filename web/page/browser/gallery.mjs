// Node alone reads no TypeScript; Vite does.
import { fileURLToPath } from 'node:url'
import { runnerImport } from 'vite'

const { module } = await runnerImport(fileURLToPath(new URL('./gallery.ts', import.meta.url)), { configFile: false, logLevel: 'warn' })
try {
  await module.gallery(module.folderOf(process.argv.slice(2)))
} catch (error) {
  console.error(error instanceof Error ? error.message : error)
  process.exitCode = 1
}
