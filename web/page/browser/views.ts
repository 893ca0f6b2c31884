// Every view of the page on fixed data: the gallery shows them, and the test of accessibility looks at each.

import { hard, longNames } from './hard'
import { oneKnob } from './oneknob'
import type { Folder, Look, Served, Stage, Visit } from './stage'
import { acts } from './acts'

/** One view: where it is found, and what is done there to see it. */
export interface View {
  name: string // of its file in the gallery
  about: string
  folder: (stage: Stage) => Folder
  query: string
  act?: (v: Visit, folder: Folder, served: Served) => Promise<void>
  working?: true // what is answered in pieces takes too long to wait for; the view shows that it is being asked for
  complaints?: RegExp[] // that Chromium writes to the console when this happens
}

const demo = (stage: Stage) => stage.demo()
const hardCases = (stage: Stage) => stage.with(hard)
const tern = '?box=tern-point&setup=bench-50'
const box = 'tern-point.box.yaml'

export const views: View[] = [
  { name: 'dB', about: 'insertion gain', folder: demo, query: tern },
  { name: 'volts', about: 'volts at the load, with the generator’s time axis', folder: demo, query: tern + '&view=volts' },
  { name: 'phase', about: 'phase at the load', folder: demo, query: tern + '&view=phase' },
  { name: 'smith', about: 'impedance that the source sees', folder: demo, query: tern + '&view=smith' },
  { name: 'smith-load', about: 'impedance that the load sees, to 75 ohm, with a pin', folder: demo, query: tern + '&view=smith&side=load&reference=75&pin=name%3Dmore%2Binput%26box%3Dtern-point%26knob.Input%3D6' },
  { name: 'oscilloscope', about: 'a sweep that is too fast, as the oscilloscope shows it', folder: demo, query: tern + '&view=screen&time=0.0002' },
  {
    name: 'pins',
    about: 'two pins, a rejection and the cursor',
    folder: demo,
    query: tern + '&cursor=2000000&reject=1530000&pin=name%3Dmore%2Binput%26box%3Dtern-point%26knob.Input%3D6&pin=name%3Dmore%2Boutput%26box%3Dtern-point%26knob.Output%3D9',
  },
  { name: 'measured', about: 'measured traces as dots', folder: demo, query: tern + '&measured=tern-point.measurements.yaml%230&measured=tern-point.measurements.yaml%231' },
  {
    name: 'new-trace',
    about: 'a trace dropped on the page, the model on it and what is left below',
    folder: demo,
    query: tern + '&knob.Input=3.5&knob.Output=6',
    act: async (v) => {
      let table = 'frequency (MHz);CH1 (V)\r\n'
      for (let f = 0.8; f < 4; f += 0.02) table += `${f.toFixed(3)};${(0.02 + 0.3 / (1 + ((f - 1.6) / 0.15) ** 2)).toFixed(4)}\r\n`.replaceAll('.', ',')
      await v.page.getByLabel('The file of a measured trace').setInputFiles({ name: 'evening.csv', mimeType: 'text/csv', buffer: Buffer.from(table) })
      await v.region('New trace').getByRole('img').waitFor()
      await v.region('New trace').scrollIntoViewIfNeeded()
    },
  },
  {
    name: 'bad-trace',
    about: 'a dropped file that cannot be read as it is',
    folder: demo,
    query: tern,
    act: async (v) => {
      await v.page.getByLabel('The file of a measured trace').setInputFiles({ name: 'notes.csv', mimeType: 'text/csv', buffer: Buffer.from('nothing\nto read\n') })
      await v.region('New trace').getByRole('alert').waitFor()
    },
    complaints: [/status of 422/],
  },
  {
    name: 'inside',
    about: 'values found from traces and put into the box, and the next measurement',
    folder: demo,
    query: '?box=mole-head&setup=bench-50',
    act: async (v) => {
      const inside = v.region('What is inside')
      await inside.getByRole('button', { name: 'What to measure next' }).click()
      await inside.locator('ol li').first().waitFor({ timeout: 60000 })
      await inside.getByRole('button', { name: 'Put them into the box' }).click()
      await inside.getByRole('link', { name: 'Changed, not saved' }).waitFor()
      await inside.scrollIntoViewIfNeeded()
    },
  },
  {
    name: 'circuits',
    about: 'circuits compared, with the values of the likeliest',
    folder: oneKnob,
    query: '?box=one-knob&setup=bench-50',
    act: async (v) => {
      const inside = v.region('What is inside')
      await inside.getByRole('button', { name: 'Compare circuits' }).click()
      await inside.getByRole('group', { name: 'Circuits that were compared' }).waitFor({ timeout: 60000 })
      await inside.locator('summary', { hasText: 'Values of the first' }).click()
      await inside.scrollIntoViewIfNeeded()
    },
  },
  { name: 'measured-antenna', about: 'double-tuned preselector on a measured wire, logarithmic', folder: demo, query: '?box=lamp-room&setup=parapet-wire' },
  {
    name: 'chart',
    about: 'a tuning chart made',
    folder: demo,
    query: tern,
    act: async (v) => {
      await v.page.locator('summary', { hasText: 'Tuning chart' }).click()
      await v.button('Make').click()
      await v.page.locator('details tbody tr').first().waitFor()
    },
  },
  { name: 'harbour', about: 'T network on a short wire', folder: demo, query: '?box=harbour-t&setup=short-wire&view=volts' },
  {
    name: 'part',
    about: 'a part’s sheet open',
    folder: demo,
    query: tern,
    act: async (v) => {
      await v.part('L1').click()
      await v.region('What if').waitFor()
    },
  },
  {
    name: 'setup',
    about: 'source, load and sweep open',
    folder: demo,
    query: tern,
    act: async (v) => {
      await v.button('Source and load…').click()
      await v.region('What if').waitFor()
    },
  },
  {
    name: 'changed',
    about: 'values changed and not saved, beside the trace as filed',
    folder: demo,
    query: tern + '&change=%2Bparts%2FC3%2Fvalue%3D220+pF&change=%2Bparts%2FL1%2FQ%3D60+at+2+MHz',
    act: async (v) => {
      await v.part('C3').click()
      await v.region('What if').waitFor()
    },
  },
  {
    name: 'refused',
    about: 'a change that cannot be',
    folder: demo,
    query: tern,
    act: async (v) => {
      await v.whatIf('C1', 'Q', '-4 apples')
      await v.banner().waitFor()
    },
    complaints: [/status of 422/],
  },
  {
    name: 'file-error',
    about: 'the file in error, the last good state below',
    folder: demo,
    query: tern,
    act: async (v, folder) => {
      folder.edit(box, 'kind: tapped coil', 'kind: taped coil')
      await v.banner().waitFor()
    },
  },
  {
    name: 'conflict',
    about: 'a file changed outside while it was about to be saved',
    folder: demo,
    query: tern,
    act: (v, folder) => acts.conflict(v, folder),
    complaints: [/status of 409/],
  },
  {
    name: 'lost',
    about: 'the server is gone',
    folder: demo,
    query: tern,
    act: async (v, _folder, served) => {
      await served.kill()
      await v.banner().waitFor()
    },
    complaints: [/ERR_CONNECTION_REFUSED|ERR_CONNECTION_RESET|ERR_INCOMPLETE_CHUNKED_ENCODING|ERR_EMPTY_RESPONSE/],
  },
  { name: 'empty', about: 'a folder with nothing in it', folder: (stage) => stage.empty(), query: '' },
  {
    name: 'no-setup',
    about: 'a folder with a box and no setup',
    folder: (stage) => {
      const folder = stage.empty()
      folder.copy(stage.demo(), box)
      return folder
    },
    query: '',
  },
  { name: 'no-controls', about: 'a box with nothing to turn', folder: hardCases, query: '?box=pad&setup=bench-50' },
  { name: 'outside-measured', about: 'the sweep leaves the range of a measured part', folder: hardCases, query: '?box=trap&setup=bench-50', complaints: [/status of 422/] },
  { name: 'ten-controls', about: 'eight dials and two switches', folder: hardCases, working: true, query: '?box=ten-hands&setup=bench-50' },
  { name: 'long-names', about: 'very long names', folder: (stage) => stage.with(longNames), query: '?box=long&setup=bench-50' },
  { name: 'not-here', about: 'an address that names a box which is not in the folder', folder: demo, query: '?box=gone&setup=bench-50', complaints: [/status of 404/] },
  {
    name: 'export',
    about: 'the menu of exports',
    folder: demo,
    query: tern,
    act: async (v) => {
      await v.page.locator('summary', { hasText: 'Export' }).click()
      await v.button('Picture of the trace, SVG').waitFor()
    },
  },
]

/** Opens a view and brings it about. */
export async function show(stage: Stage, view: View, look: Partial<Look>): Promise<Visit> {
  stage.expect(...(view.complaints ?? []))
  const folder = view.folder(stage)
  const served = await stage.serve(folder)
  const v = await stage.open(served, view.query, look)
  await view.act?.(v, folder, served)
  await v.settled(!view.working)
  return v
}
