import {
  chmodSync,
  chownSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { fileURLToPath } from 'node:url'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { loadCommand } from '../../src/cli/load/load.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { runCommand } from './commandBench.js'

const sample = fileURLToPath(new URL('../../samples/hilltop', import.meta.url))
let folder: string
const at = (name: string) => join(folder, name)
const read = (name: string) => readFileSync(at(name), 'utf8')
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'load-'))
  cpSync(sample, folder, { recursive: true })
})
afterEach(() => rmSync(folder, { recursive: true }))

const load = (words: readonly string[], answer?: string) => {
  const stdin = new PassThrough()
  stdin.end(answer)
  return runCommand(loadCommand, [...words, '--config', at('node.toml')], {
    stdin,
    clock: virtualClock(Date.UTC(2026, 5, 21)),
  })
}
const leftovers = () => readdirSync(folder).filter((name) => /partial|former/.test(name))

const german = [
  'Standort;Rufzeichen;Ausgabe (kHz);Ablage;CTCSS;Breite;Laenge;Bemerkung',
  'Höhe Nord;q1hoe;438712,5;-7600;67,0;45,3;-36,8;gut',
  'Falsch;q1bad;14000;;;45;36;',
  'Tal;q1tal;145600;-600;;45 12 36 N;36 48 00 W;',
  '',
].join('\n')

describe('load repeaters', () => {
  it('shows columns, counts and bad rows, asks, and writes a directory that needs no map', async () => {
    writeFileSync(at('new.csv'), german)
    const run = await load(['repeaters', at('new.csv')], 'y\n')
    expect(run.exitCode).toBe(0)
    expect(run.stdout).toContain(
      '  "Ausgabe (kHz)"        output: what the repeater sends on: 438712,5\n',
    )
    expect(run.stdout).toContain('  "Bemerkung"            not used: gut\n')
    expect(run.stdout).toContain(
      '2 repeaters, 1 left out:\n  new.csv:3: output: got "14000", expected a frequency from 28 to 10500 MHz\n',
    )
    expect(run.stdout).toContain('standing for any distance and direction:\n  Hohe Nord Q1HOE')
    expect(run.stdout).toContain('-7.6MHz tone 67Hz 12km NE of you\n')
    expect(run.stdout).toContain('(now 25 repeaters)')
    expect(run.stdout).toMatch(/Replaced \S+repeaters\.csv: 2 repeaters\n$/)
    expect(read('repeaters.csv')).toBe(
      [
        'name,call,output,offset,tone,latitude,longitude,mode,use,status',
        'Höhe Nord,Q1HOE,438.7125 MHz,-7.6 MHz,67,45.3,-36.8,FM,,',
        'Tal,Q1TAL,145.6 MHz,-0.6 MHz,,45.21,-36.8,FM,,',
        '',
      ].join('\n'),
    )
    expect(leftovers()).toEqual([])
  })

  it('with --dry-run shows everything, counts by reason, and replaces nothing', async () => {
    const before = read('repeaters.csv')
    const rows = [
      'call,TX,RX,shift,tone,use',
      'Q1A,145.0,145.6,-,88.5,open',
      'Q1B,145.1,145.7,-,8.85,closed',
      'Q1C,145.05,145.65,-,R,',
      'Q1D,145.7,145.1,+,,',
      'Q1E,145.7,145.1,-,,',
    ]
    writeFileSync(at('new.csv'), rows.join('\n'))
    const run = await load(['repeaters', at('new.csv'), '--dry-run'])
    expect(run.exitCode).toBe(0)
    expect(run.stdout).toContain(
      '"TX"                   input: what the repeater hears on (as seen from its user)',
    )
    expect(run.stdout).toContain('4 repeaters, 1 left out:\n  new.csv:6: sign: got "-"')
    expect(run.stdout).toContain(
      '  new.csv:3: tone: got "8.85": tones are 60 to 260 Hz: kept without a tone\n',
    )
    expect(run.stdout).toContain('  1 x tone: this is not a tone: kept without a tone\n')
    expect(run.stdout).toContain(
      'As it will be sent:\n  Q1A 145.600-0.6MHz tone 88.5Hz place not known\n',
    )
    expect(run.stdout).toMatch(/Nothing was replaced \(--dry-run\)/)
    expect(read('repeaters.csv')).toBe(before)
  })

  it.each([
    ['a no', 'n\n'],
    ['no answer', ''],
    ['something else', 'maybe\n'],
  ])('leaves everything as it is after %s', async (_, answer) => {
    writeFileSync(at('new.csv'), german)
    const before = read('repeaters.csv')
    const run = await load(['repeaters', at('new.csv')], answer)
    expect(run).toMatchObject({
      exitCode: 1,
      stderr: expect.stringContaining('Nothing was replaced'),
    })
    expect(read('repeaters.csv')).toBe(before)
  })

  it('refuses on request what is not all right', async () => {
    writeFileSync(at('new.csv'), german)
    const run = await load(['repeaters', at('new.csv'), '--strict', '--yes'])
    expect(run.exitCode).toBe(1)
    expect(run.stderr).toMatch(/got 2 right and 1 wrong, .*\(--strict\); nothing was replaced/)
  })

  it('refuses a file without one right row, and one without the columns', async () => {
    writeFileSync(at('new.csv'), 'name,output,lat,lon\nA,1,1,1\n')
    expect((await load(['repeaters', at('new.csv'), '--yes'])).stderr).toMatch(
      /got 0 right and 1 wrong, expected at least one/,
    )
    writeFileSync(at('new.csv'), 'c1,c2,c3,c4\nHut,146.94,45,-36\n')
    const run = await load(['repeaters', at('new.csv'), '--yes'])
    expect(run.exitCode).toBe(1)
    expect(run.stderr).toMatch(/name columns with --map FIELD=HEADER/)
    const mapped = await load([
      'repeaters',
      at('new.csv'),
      '--yes',
      '--map',
      'name=c1,output=2,latitude=c3,longitude=c4',
    ])
    expect(mapped.exitCode).toBe(0)
    expect(read('repeaters.csv')).toMatch(/^Hut,,146\.94 MHz,,,45,-36,FM,,$/m)
  })

  it('keeps the headers that the configuration expects', async () => {
    writeFileSync(
      at('node.toml'),
      '[services.repeaters]\nfile = "fresh/list.csv"\ncolumns = { name = "Ort", output = "MHz" }\n',
    )
    writeFileSync(at('new.csv'), german)
    const run = await load(['repeaters', at('new.csv'), '--yes'])
    expect(run.stdout).toContain('(there is none yet)')
    expect(read('fresh/list.csv')).toMatch(/^Ort,call,MHz,offset/)
    // Its own output, once more: the configuration's map fits it.
    expect((await load(['repeaters', at('fresh/list.csv'), '--yes'])).exitCode).toBe(0)
    writeFileSync(at('node.toml'), '[services.repeaters]\nfile = "x.csv"\ncolumns = { name = 3 }\n')
    expect((await load(['repeaters', at('new.csv'), '--yes'])).stderr).toMatch(
      /services\.repeaters\.columns\.name: got the number 3/,
    )
  })

  it.skipIf(process.getuid?.() !== 0)(
    'as root leaves the file with its owner and mode',
    async () => {
      writeFileSync(at('new.csv'), german)
      chownSync(at('repeaters.csv'), 12_345, 12_346)
      chmodSync(at('repeaters.csv'), 0o640)
      expect((await load(['repeaters', at('new.csv'), '--yes'])).exitCode).toBe(0)
      const { uid, gid, mode } = statSync(at('repeaters.csv'))
      expect([uid, gid, mode & 0o777]).toEqual([12_345, 12_346, 0o640])
    },
  )

  it('leaves the old file when the new one cannot be written', async () => {
    writeFileSync(at('new.csv'), german)
    writeFileSync(at('node.toml'), '[services.repeaters]\nfile = "new.csv/list.csv"\n')
    const run = await load(['repeaters', at('new.csv'), '--yes'])
    expect(run.exitCode).toBe(1)
    expect(run.stderr).toMatch(/cannot be written: /)
  })
})

describe('load elements', () => {
  const omm = {
    OBJECT_NAME: 'HARVESTER 2',
    EPOCH: '2026-06-20T12:34:43.98',
    MEAN_MOTION: 15.56387291,
    ECCENTRICITY: 0.0030035,
    INCLINATION: 58.0579,
    RA_OF_ASC_NODE: 54.0425,
    ARG_OF_PERICENTER: 139.1568,
    MEAN_ANOMALY: 221.1854,
    NORAD_CAT_ID: 99902,
  }

  it('keeps the form, tells ages, and names what is wrong', async () => {
    const old = { ...omm, NORAD_CAT_ID: 1, EPOCH: '2026-01-01T00:00:00' }
    const text = JSON.stringify([omm, old, { OBJECT_NAME: 'X' }], null, 1)
    writeFileSync(at('new.json'), text)
    const run = await load(['elements', at('new.json'), '--yes'])
    expect(run.exitCode).toBe(0)
    expect(run.stdout).toMatch(
      /Form: OMM, JSON\n2 element sets, 1 left out:\n {2}new\.json:24: MEAN/,
    )
    expect(run.stdout).toContain('Newest 11h old, oldest 171d\n')
    expect(run.stdout).toContain('1 of them too old to answer from (over 30 days)\n')
    expect(run.stdout).toContain('(now 4 element sets)')
    expect(read('elements.txt')).toBe(text)
  })

  it('refuses what holds none', async () => {
    writeFileSync(at('new.txt'), 'nothing\n')
    const before = read('elements.txt')
    const run = await load(['elements', at('new.txt'), '--yes'])
    expect(run.exitCode).toBe(1)
    expect(run.stderr).toMatch(/new\.txt:2: .*nothing was loaded/)
    expect(read('elements.txt')).toBe(before)
  })
})

describe('load cards', () => {
  it('puts a file among the others, or in the place of its former self', async () => {
    writeFileSync(at('more.md'), '# Tea\nat four\n')
    expect((await load(['cards', at('more.md'), '--yes'])).stdout).toMatch(
      /1 card\nTitles: Tea\nTo replace \S+cards\/more\.md \(there is none yet\)/,
    )
    expect(readdirSync(at('cards')).sort()).toEqual(['emergency.md', 'field-day.csv', 'more.md'])
    expect((await load(['cards', at('more.md'), '--yes'])).stdout).toContain('(now 1 card)')
  })

  it('puts a folder in the place of all, whole, and leaves other files out', async () => {
    mkdirSync(at('new'))
    writeFileSync(at('new/a.md'), '# Tea\nat four\n')
    writeFileSync(at('new/b.csv'), 'title,text\nBus,hourly\n')
    writeFileSync(at('new/photo.jpg'), 'x')
    const run = await load(['cards', at('new'), '--yes'])
    expect(run.stdout).toContain('Not cards, left out: photo.jpg\n')
    expect(run.stdout).toContain('(now 7 cards)')
    expect(readdirSync(at('cards')).sort()).toEqual(['a.md', 'b.csv'])
    expect(leftovers()).toEqual([])
  })

  it('refuses other files, and a folder without cards', async () => {
    writeFileSync(at('x.txt'), 'x')
    expect((await load(['cards', at('x.txt'), '--yes'])).stderr).toMatch(/ends in "\.txt"/)
    mkdirSync(at('none'))
    expect((await load(['cards', at('none'), '--yes'])).exitCode).toBe(1)
    expect(existsSync(at('cards/emergency.md'))).toBe(true)
  })
})

describe('wrong usage', () => {
  it.each([
    [['things', 'x'], /Expected repeaters, elements, cards/],
    [['repeaters', 'x', '--map', 'nam=x'], /FIELD is one of name, call/],
    [['elements', 'x', '--map', 'name=x'], /expected it with repeaters only/],
    [['repeaters'], /missing required argument/],
  ])('%j ends with 2', async (words, message) => {
    const run = await load(words)
    expect(run.exitCode).toBe(2)
    expect(run.stderr).toMatch(message)
  })

  it('without a place in the configuration says which key to set', async () => {
    writeFileSync(at('node.toml'), '')
    const run = await load(['elements', at('elements.txt'), '--yes'])
    expect(run.exitCode).toBe(2)
    expect(run.stderr).toMatch(
      /services\.pass\.file: got nothing, .*; set services\.pass\.file first/,
    )
  })
})

describe('load service', () => {
  const checkIn = `export default { keyword: 'check-in', summary: 'counts', usage: 'check-in [NAME]',
    settings: { greeting: { type: 'text', default: 'Hello' } },
    answer: ({ words }, { settings }) => settings.greeting + ' ' + words.join(' ') }\n`
  beforeEach(() =>
    writeFileSync(
      at('node.toml'),
      '[services.own]\nfolder = "mine"\n[services.own.settings.check-in]\ngreeting = "Servus"\n',
    ),
  )

  it('checks it, tries it with what the operator has set, and puts it in its place', async () => {
    writeFileSync(at('checkin.mjs'), checkIn)
    const run = await load(['service', at('checkin.mjs')], 'y\n')
    expect(run.stderr).toMatch(/^Replace it\? \[y\/N\] /)
    expect(run.stdout).toContain('check-in: counts\nAsked with: check-in [NAME]\n')
    expect(run.stdout).toContain('"check-in NAME" is answered with:\n  Servus name\n')
    expect(read('mine/checkin.mjs')).toBe(checkIn)
    expect((await load(['service', at('checkin.mjs'), '--dry-run'])).stdout).toMatch(
      /Nothing was replaced/,
    )
  }, 60_000)

  it('names a file that is not there', async () => {
    const run = await load(['service', at('none.mjs'), '--yes'])
    expect(run.exitCode).not.toBe(0)
    expect(run.stderr).toMatch(/none\.mjs/)
    expect(run.stderr).not.toMatch(/ENOENT/)
  })

  it.each([
    ['a.js', checkIn, /a name that ends in \.mjs/],
    ['a.mjs', 'export default {}', /keyword: got undefined/],
    ['a.mjs', checkIn.replace('check-in', 'sun'), /"sun" is the node's own/],
    ['a.mjs', checkIn.replace("'text'", "'number'"), /greeting: got "Servus", expected a number/],
    ['a.mjs', 'export default {', /node --check a\.mjs shows where/],
  ])(
    'refuses %s: %s',
    async (name, text, reason) => {
      writeFileSync(at(name), text)
      const run = await load(['service', at(name), '--yes'])
      expect(run.exitCode).not.toBe(0)
      expect(`${run.stderr}${run.stdout}`).toMatch(reason)
      expect(existsSync(at('mine'))).toBe(false)
    },
    60_000,
  )
})
