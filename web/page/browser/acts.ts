// Longer things that people do on the page, for more than one test.

import type { Folder, Visit } from './stage'

export const acts = {
  /**
   * A conflicting save: changes C1's Q on the page and, before it is kept, the box's name on disk. The page must not hear
   * of the change on disk, as in the third of a second before it does; so its stream of events is held up.
   */
  conflict: async (v: Visit, folder: Folder): Promise<void> => {
    await v.page.route('**/api/events', () => {})
    await v.page.reload()
    await v.settled()
    await v.whatIf('C1', 'Q', '123')
    folder.edit('tern-point.box.yaml', 'box: Tern Point coupler', 'box: Tern Point coupler, second floor')
    await v.button('Keep in the file').click()
    await v.banner().waitFor()
  },
}
