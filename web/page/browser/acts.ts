// Longer things that people do on the page, for more than one test.

import type { Folder, Visit } from './stage'

export const acts = {
  /** A conflicting save: changes C1's Q on the page and then, on disk, the same Q and the box's name. */
  conflict: async (v: Visit, folder: Folder, floor = 'second floor'): Promise<void> => {
    await v.whatIf('C1', 'Q', '123')
    const box = 'tern-point.box.yaml'
    folder.write(box, folder.read(box).replace(/Q: [0-9]+\}\n {2}C2/, `Q: ${floor.length * 30}}\n  C2`).replace(/^box: .*$/m, `box: Tern Point coupler, ${floor}`))
    await v.page.waitForFunction((floor) => document.title.includes(floor), floor)
    await v.settled()
    await v.button('Keep in the file').click()
    await v.banner().waitFor()
  },
}
