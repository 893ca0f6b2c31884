import { fileURLToPath } from 'node:url'
import { defineConfig } from 'vitest/config'

const root = fileURLToPath(new URL('..', import.meta.url))
// One browser per worker serves all its files. The figures are measured after everything else, with the machine alone.
const common = {
  root,
  environment: 'node' as const,
  globalSetup: './browser/binary.ts',
  isolate: false,
  retry: process.env.CI ? 2 : 0, // a busy machine may keep a browser waiting; what is wrong is wrong three times
  testTimeout: 120_000,
  hookTimeout: 60_000,
  expect: { poll: { timeout: 8_000, interval: 30 } },
}

export default defineConfig({
  root,
  test: {
    reporters: ['verbose'],
    projects: [
      { root, test: { ...common, name: 'page', include: ['browser/*.test.ts'], exclude: ['browser/figures.test.ts'], maxWorkers: 2, sequence: { groupOrder: 0 } } },
      { root, test: { ...common, name: 'figures', include: ['browser/figures.test.ts'], maxWorkers: 1, sequence: { groupOrder: 1 } } },
    ],
  },
})
