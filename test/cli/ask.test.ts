import { cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { fileURLToPath } from 'node:url'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { askCommand } from '../../src/cli/ask/ask.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openStore } from '../../src/store/store.js'
import { runCommand } from './commandBench.js'

const sample = fileURLToPath(new URL('../../samples/hilltop', import.meta.url))
const solstice = Date.UTC(2026, 5, 21, 16)
let folder: string
let config: string
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'ask-'))
  cpSync(sample, folder, { recursive: true })
  config = join(folder, 'node.toml')
  // Own services need threads, which have tests of their own.
  const text = readFileSync(config, 'utf8').replace(/\[services\.own\][^[]*/, '')
  writeFileSync(config, `${text}\n[store]\nfile = "data/node.db"\n`)
})
afterAll(() => rmSync(folder, { recursive: true }))

const ask = (...words: string[]) =>
  runCommand(askCommand, [...words, '--config', config], { clock: virtualClock(solstice) })

describe('ask', () => {
  it('shows the messages as they would go out, with their lengths', async () => {
    expect(await ask('repeaters 2', '--from', 'q1kit-9', '--at', '45.25,-36.70')).toEqual({
      stdout: [
        'Q1KIT-9: repeaters 2',
        '  59/67  Heron Knob Q1ASH 146.940-0.6MHz tone 100Hz 3.9km WSW of you',
        '  59/67  Kestrel Pass Q1KES 147.210+0.6MHz tone 123Hz 12km NE of you',
        '',
      ].join('\n'),
      stderr: '',
      exitCode: 0,
    })
  })

  it('takes words as they come, a locator, and another time', async () => {
    const { stdout } = await ask(
      'pass',
      'fieldlark',
      '--at',
      'HN15pf',
      '--time',
      '2026-06-21T12:00Z',
    )
    expect(stdout).toMatch(/^N0CALL-7: pass fieldlark\n {2}\d\d\/67 {2}FIELDLARK rise /)
    expect((await ask('clock', '--time', '2026-06-21T12:34:56Z')).stdout).toMatch(/10:34:56 UTC-2/)
  })

  it('tells local time by the zone of the configuration, with its daylight saving', async () => {
    const zoned = join(folder, 'zoned.toml')
    const text = readFileSync(config, 'utf8')
    writeFileSync(zoned, text.replace(/utcOffsetMinutes = .*/, 'timeZone = "Atlantic/Azores"'))
    const said = async (...words: string[]) =>
      (
        await runCommand(askCommand, [...words, '--config', zoned], {
          clock: virtualClock(solstice),
        })
      ).stdout
    expect(await said('clock', '--time', '2026-01-15T12:34:56Z')).toMatch(/11:34:56 UTC-1/)
    expect(await said('clock', '--time', '2026-07-15T12:34:56Z')).toMatch(/12:34:56 UTC(?![-+])/)
    // Asked before the change, of a day after it.
    expect(await said('sun', '24', 'dec', '--time', '2026-07-15T12:34:56Z')).toMatch(/UTC-1/)
  })

  it('gives JSON on request', async () => {
    const { stdout } = await ask('help', 'where', '--format', 'json')
    expect(JSON.parse(stdout)).toEqual({
      from: 'N0CALL-7',
      question: 'help where',
      keyword: 'help',
      messages: [
        { text: 'where CALL: Where a station is: distance, bearing, locator, age', length: 63 },
      ],
    })
  })

  it('asks line by line, and remembers meanwhile what was left and posted', async () => {
    const stdin = new PassThrough()
    stdin.end('leave N0CALL-7 hello\n\ncollect\ncollect\npost hut open\nboard\n')
    const { stdout } = await runCommand(askCommand, ['--config', config], {
      clock: virtualClock(solstice),
      stdin,
    })
    expect(stdout.split('\n').map((line) => line.replace(/^ +\d+\/67 +/, '- '))).toEqual([
      'N0CALL-7: leave N0CALL-7 hello',
      '- Kept 7 days for N0CALL-7. You are told when it is delivered.',
      'N0CALL-7: collect',
      '- 1 message for you follows.',
      '- N0CALL-7: hello',
      'N0CALL-7: collect',
      '- Nothing is waiting for N0CALL-7.',
      'N0CALL-7: post hut open',
      '- On the board for 7 days. To read it: board',
      'N0CALL-7: board',
      '- N0CALL-7 now: hut open',
      '',
    ])
    expect(existsSync(join(folder, 'data'))).toBe(false)
  })

  it("reads the node's database, and changes nothing in it", async () => {
    const clock = virtualClock(solstice)
    const file = join(folder, 'data', 'node.db')
    const store = openStore({ file, clock })
    store.stations.add({
      call: 'Q1KIT-9',
      atWallMs: solstice - 600_000,
      radio: 0,
      via: [],
      position: { latitudeDeg: 45.3, longitudeDeg: -36.7 },
    })
    store.flush()
    store.durably('test', () =>
      store.mailbox.insert({
        questionId: 'Q1',
        from: 'Q1KIT-9',
        to: 'N0CALL-7',
        text: 'kettle is on',
        leftWallMs: solstice,
        expiresWallMs: solstice + 1e9,
        expiryTrusted: true,
      }),
    )
    // The node goes on running meanwhile.
    expect((await ask('where', 'q1kit')).stdout).toMatch(
      /Q1KIT-9: \d\S+ N\S* of node, .* 10min ago/,
    )
    expect((await ask('repeaters', '1', '--from', 'Q1KIT-9')).stdout).toMatch(/of you\n/)
    const { stdout } = await ask('collect')
    expect(stdout).toMatch(/1 message for you follows\.\n.*Q1KIT-9: kettle is on/)
    await ask('leave', 'Q1KIT-9', 'coming')
    expect(store.mailbox.recent(9).map((entry) => [entry.state, entry.text])).toEqual([
      ['waiting', 'kettle is on'],
    ])
    store.close()
    rmSync(join(folder, 'data'), { recursive: true })
  })

  it('answers without a configuration what needs no data', async () => {
    const { stdout, exitCode } = await runCommand(askCommand, ['sun', '--at', '40,-75'], {
      clock: virtualClock(solstice),
    })
    expect(exitCode).toBe(0)
    expect(stdout).toMatch(
      /\n {2}\(without --config: no node's data, and nothing that one heard\)\n$/,
    )
    expect((await ask('clock')).stdout).not.toContain('without --config')
    expect(stdout).toMatch(/Today at you: dawn \d\d:\d\d rise/)
  })

  it.each([
    [['sun', '--from', 'everybody'], /call sign such as N0CALL-7/],
    [['sun', '--at', '95,0'], /LAT,LON in degrees/],
    [['sun', '--at', 'somewhere'], /LAT,LON in degrees/],
    [['sun', '--time', 'noon'], /Expected a date and time/],
    [['sun', '--format', 'xml'], /Allowed choices are text, json/],
  ])('refuses %j as wrong usage', async (words, message) => {
    const run = await runCommand(askCommand, words)
    expect(run.exitCode).toBe(2)
    expect(run.stderr).toMatch(message)
  })

  it('ends with 1 for a configuration or a database that it cannot use', async () => {
    const none = await runCommand(askCommand, ['sun', '--config', join(folder, 'none.toml')])
    expect(none.exitCode).toBe(1)
    const wrong = join(folder, 'wrong.toml')
    writeFileSync(wrong, '[store]\nfile = "repeaters.csv"\n')
    const foreign = await runCommand(askCommand, ['sun', '--config', wrong])
    expect(foreign.exitCode).toBe(1)
    expect(foreign.stderr).toMatch(
      /^ridgepost: .*repeaters\.csv: opening it: it is not a database; give the right file/,
    )
  })

  it('says on standard error what is wrong with the data', async () => {
    const bad = join(folder, 'bad.toml')
    writeFileSync(join(folder, 'bad.csv'), 'name,output,lat,lon\nA,146.94,95,0\nB,146.94,45,-36\n')
    writeFileSync(
      bad,
      '[services.repeaters]\nfile = "bad.csv"\n[services.pass]\nfile = "none.txt"\n',
    )
    const run = await runCommand(askCommand, ['repeaters', '--config', bad, '--at', '45,-36'])
    expect(run.stdout).toMatch(/B 146\.940MHz beside you/)
    expect(run.stderr.split('\n').sort()).toEqual([
      '',
      expect.stringMatching(/^pass: \S*none\.txt: cannot be read: no such file/),
      'repeaters: left out bad.csv:2: latitude: got "95", expected degrees from -90 to 90',
    ])
    expect(run.exitCode).toBe(0)
  })
})
