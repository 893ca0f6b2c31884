// `it` with a stage. Every test ends with the question whether a page complained: an error or a warning in its console, an
// error that nobody caught, or something that the content policy refused.

import { expect, inject, test } from 'vitest'
import { launch, Pages, Stage } from './stage'

export const it = test.extend<{ stage: Stage; pages: Pages }>({
  pages: [
    async ({}, use) => {
      const pages = new Pages(await launch())
      await use(pages)
      await pages.close()
    },
    { scope: 'worker' },
  ],
  stage: async ({ pages }, use) => {
    const stage = new Stage(inject('command'), pages)
    try {
      await use(stage)
    } finally {
      await stage.end()
    }
    expect(stage.unexpected(), 'complaints of the page').toEqual([])
  },
})

export { describe, expect } from 'vitest'
