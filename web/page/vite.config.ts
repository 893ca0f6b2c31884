import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vitest/config'

// The server's policy lets the page load its own files only: nothing is inlined, no polyfill script is added.
export default defineConfig(({ mode }) => ({
  base: './',
  plugins: [svelte()],
  resolve: mode === 'test' ? { conditions: ['browser'] } : {},
  build: {
    outDir: 'dist',
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
  server: { proxy: { '/api': { target: 'http://127.0.0.1:8130', changeOrigin: true } } },
  test: { include: ['test/**/*.test.ts'] },
}))
