import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import fc from 'fast-check'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { createWav } from '../../src/audio/wavWriter.js'
import { checkCommand } from '../../src/cli/check/check.js'
import { answer, begin, effectDone, type Turn } from '../../src/cli/setup/machine.js'
import type { Around, Effect, EffectResult, Found } from '../../src/cli/setup/session.js'
import { setupCommand } from '../../src/cli/setup/setup.js'
import { loadConfig, parseConfig } from '../../src/config/load.js'
import type { TransmitOutcome } from '../../src/radio/port.js'
import type { RadioPort, ToneRequest } from '../../src/radio/radioPort.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import type { openRadio } from '../../src/setup/openRadio.js'
import { runCommand } from './commandBench.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
  const wav = createWav(join(folder, 'in.wav'), {
    ...{ sampleRateHz: 48_000, sampleFormat: 's16le', channelCount: 1 },
  })
  wav.write(new Float32Array(4800))
  wav.close()
  for (const name of ['ttyUSB0', 'gpiochip0', 'hidraw0', 'tnc', 'repeaters.csv'])
    writeFileSync(join(folder, name), '')
})
afterEach(() => rmSync(folder, { recursive: true, force: true }))

const around = (change: Partial<Around> = {}): Around => ({
  file: join(folder, 'node.toml'),
  fileIsThere: false,
  asideFile: join(folder, 'node.toml.before'),
  workingFolder: folder,
  timeZone: 'UTC',
  ...change,
})

/** Files that stand for devices. */
const found = (): Found => ({
  inputs: [{ spec: `wav:${join(folder, 'in.wav')}`, description: 'a card' }],
  outputs: [{ spec: `wav:${join(folder, 'out.wav')}`, description: 'a card' }],
  serialLines: [{ device: join(folder, 'ttyUSB0'), about: '' }],
  gpioChips: [{ device: join(folder, 'gpiochip0'), about: '' }],
  hids: [{ device: join(folder, 'hidraw0'), about: '' }],
  problems: [],
})

const good: EffectResult = { ok: true, lines: [] }

/** A typed session: each answer to the question that stands, each effect to who plays the outside. */
function session(
  words: readonly string[],
  outside: (effect: Effect) => EffectResult = () => good,
  begun: Turn = begin(around(), found()),
) {
  const said: string[] = []
  const effects: Effect[] = []
  const left = [...words]
  let turn = begun
  for (;;) {
    said.push(...turn.lines)
    if (turn.over !== undefined) return { said: said.join('\n'), effects, left, turn }
    if (turn.effect !== undefined) {
      effects.push(turn.effect)
      turn = effectDone(turn.session, turn.effect, outside(turn.effect))
      continue
    }
    said.push(turn.prompt!)
    const word = left.shift()
    if (word === undefined) return { said: said.join('\n'), effects, left, turn }
    turn = answer(turn.session, word)
  }
}

const writtenText = (effects: readonly Effect[]): string =>
  effects.flatMap((effect) => (effect.kind === 'write' ? [effect.text] : []))[0]!
const keyedCount = (effects: readonly Effect[]): number =>
  effects.filter(({ kind }) => kind === 'key').length

const station = ['qq1aa-10', 'Q1ABC', '45.2310 -36.7420', '']
const card = ['1', '', 'no']
const site = ['145.01', '10', '2.15', '9', '1.5', 'yes']
const trials = ['yes', 'yes', '350']
const rest = ['none', '', '', '', '', 'write']

/** One for each way of keying. */
const sessions: readonly (readonly [
  name: string,
  words: readonly string[],
  radio: Record<string, unknown>,
])[] = [
  [
    'RTS',
    [...station, ...card, '1', '1', '', ...site, ...trials, ...rest],
    { ptt: { kind: 'serial', line: 'rts', activeLow: false } },
  ],
  [
    'DTR, the low level keys',
    [...station, ...card, '2', '1 low', '', ...site, ...trials, ...rest],
    { ptt: { kind: 'serial', line: 'dtr', activeLow: true } },
  ],
  [
    'GPIO',
    [...station, ...card, '3', '1 17', '', ...site, ...trials, ...rest],
    { ptt: { kind: 'gpio', line: 17 } },
  ],
  [
    'HID',
    [...station, ...card, '4', '1', '', ...site, ...trials, ...rest],
    { ptt: { kind: 'hid', line: 3 } },
  ],
  [
    'VOX',
    [...station, ...card, '5', '', ...site, ...trials, 'yes', ...lookingAt(), ...rest],
    { ptt: { kind: 'none', hangMs: 830 } },
  ],
  [
    'programs',
    [...station, ...card, '6', '/bin/true on; /bin/true off', '', ...site, ...trials, ...rest],
    {
      ptt: { kind: 'command', keyCommand: ['/bin/true', 'on'], unkeyCommand: ['/bin/true', 'off'] },
    },
  ],
  [
    'an external modem on a serial line',
    [...station, '2', '1 19200', 'no', ...site, 'yes', 'yes', ...rest],
    { modem: { kind: 'serial', lineBitRate: 19_200 }, ptt: { kind: 'none' } },
  ],
  [
    'an external modem on TCP',
    [...station, '3', 'modem.example:18701', 'no', ...site, 'yes', 'yes', ...rest],
    { modem: { kind: 'tcp', host: 'modem.example', port: 18701 } },
  ],
]

/** What somebody says who looks at a radio that stays on for 740 ms, between 3200 ms and an eye's accuracy. */
function lookingAt(): string[] {
  const words: string[] = []
  let [fromMs, toMs, gapMs] = [0, 3100, 3100]
  while (toMs - fromMs > 40) {
    const off = gapMs > 740
    words.push(off ? 'yes' : 'no')
    if (off) toMs = gapMs
    else fromMs = gapMs
    gapMs = Math.round((fromMs + toMs) / 2)
  }
  return words
}

describe('setup, typed sessions', () => {
  it.each(sessions)('%s: ends in a file that check finds right', async (_, words, radio) => {
    const { effects, left, turn } = session(words)
    expect(left).toEqual([])
    expect(turn.over).toEqual({ isGood: true })
    const file = join(folder, 'node.toml')
    writeFileSync(file, writtenText(effects))
    const config = await loadConfig(file)
    expect(config.radios[0]).toMatchObject(radio)
    expect(config.radios[0]!.transmit).toMatchObject({ enabled: true, frequencyMHz: 145.01 })
    expect(config.beacons.schedule).toMatchObject([{ send: 'position', path: [] }])
    const checked = await runCommand(checkCommand, [file, '--format', 'json'], {
      clock: systemClock(),
      env: process.env,
    })
    expect(JSON.parse(checked.stdout).mend).toEqual([])
    expect(checked.exitCode).toBe(0)
  })

  it('VOX: keys once for each answer while the hang is measured, within the time-out timer', () => {
    const { effects } = session(sessions.find(([name]) => name === 'VOX')![1])
    const pulses = effects.filter((effect) => effect.kind === 'key' && effect.gapMs !== undefined)
    expect(pulses).toHaveLength(lookingAt().length)
    for (const pulse of pulses)
      if (pulse.kind === 'key') expect(pulse.durationMs + 3000).toBeLessThan(8000)
  })

  it('every step can be skipped: what is left sends nothing', () => {
    const { effects, turn, left } = session([...Array<string>(14).fill('skip'), 'write'])
    expect([left, turn.over]).toEqual([[], { isGood: true }])
    const config = parseConfig(writtenText(effects), 'node.toml')
    expect(config.station.call).toBe('N0CALL')
    expect(config.radios[0]!.transmit.enabled).toBe(false)
    expect(keyedCount(effects)).toBe(0)
  })

  it("of the package's service the files lie where it may write, and it is looked at as the service", () => {
    const words = [...Array<string>(14).fill('skip'), 'write']
    const file = '/etc/ridgepost/node.toml'
    const { effects, said } = session(words, undefined, begin(around({ file }), found()))
    const config = parseConfig(writtenText(effects), 'node.toml')
    expect(config.store.file).toBe('/var/lib/ridgepost/ridgepost.db')
    expect(config.operator.socket).toBe('/run/ridgepost/operator')
    expect(config.radios[0]!.transmit.holdFile).toBe('/var/lib/ridgepost/hold')
    expect(said).toMatch(/runuser -u ridgepost -- ridgepost check \/etc\/ridgepost\/node\.toml/)
  })

  it('a step is undone, and one is repeated from the list; what hangs on it is asked again', () => {
    const undone = session([...station, 'back', 'back', 'HN15pf'])
    expect(undone.turn.session.answers).toMatchObject({
      latitudeDeg: 45.2292,
      longitudeDeg: -36.7083,
    })
    expect(undone.turn.session.step).toBe('zone')

    const words = [
      ...sessions[0]![1].slice(0, -1),
      'keying',
      '3',
      '1 4',
      '',
      'yes',
      'yes',
      '',
      'operator',
      'Q2ABC',
      'write',
    ]
    const { effects, left } = session(words)
    expect(left).toEqual([])
    const config = parseConfig(writtenText(effects), 'node.toml')
    expect(config.radios[0]!.ptt).toMatchObject({ kind: 'gpio', line: 4 })
    expect(config.station.controlOperator).toBe('Q2ABC')
  })

  it('a file that is there is replaced only after a yes, and kept aside', () => {
    const begun = (): Turn => begin(around({ fileIsThere: true }), found())
    const words = [...Array<string>(14).fill('skip'), 'write']
    const no = session([...words, 'no', 'quit'], undefined, begun())
    expect(no.effects.filter(({ kind }) => kind === 'write')).toEqual([])
    const yes = session([...words, 'yes'], undefined, begun())
    expect(yes.effects.find(({ kind }) => kind === 'write')).toMatchObject({
      asideFile: join(folder, 'node.toml.before'),
    })
  })

  it('what cannot be sent is said, and nothing is written of it', () => {
    const { said, turn } = session(
      [...station, ...card, '1', '1', '', ...site, 'yes', 'yes'],
      ({ kind }) => (kind === 'key' ? { ok: false, lines: ['no such line'] } : good),
    )
    expect(said.match(/no such line/g)).toHaveLength(2)
    expect(turn.session.step).toBe('try')
  })

  it('a placeholder may not send, and an empty answer never keys', () => {
    const placeholder = session(['N0CALL-10', 'Q1ABC', 'skip', '', ...card, '1', '1', '', ...site])
    expect(placeholder.said).toContain('Not with this call sign.')
    expect(placeholder.turn.session.answers.enabled).not.toBe(true)
    const empty = session([...station, ...card, '5', '', ...site, ...Array<string>(9).fill('')])
    expect(keyedCount(empty.effects)).toBe(0)
  })

  it('whatever is typed: it goes on, and keys only where that is asked, allowed and said', () => {
    const words = fc.constantFrom(
      ...[
        '',
        'yes',
        'no',
        'y',
        'n',
        'again',
        'stop',
        'skip',
        'back',
        'list',
        'help',
        'write',
        '1',
        '2',
        '3',
        '4',
        '5',
        '6',
        '7',
      ],
      ...[
        'QQ1AA',
        'N0CALL',
        '1 17',
        '145.01',
        'keying',
        'call',
        'send',
        'radio',
        'WIDE1-1',
        'modem.example:1',
        '\u0007',
        '🙂',
        '-1',
        '1e9',
      ],
    )
    fc.assert(
      fc.property(fc.array(fc.tuple(words, fc.boolean()), { maxLength: 120 }), (typed) => {
        let turn = begin(around(), found())
        const undo: Turn['session'][] = []
        for (const [word, ok] of typed) {
          if (turn.over !== undefined) break
          const before = turn.session
          turn = answer(before, word)
          while (turn.effect !== undefined) {
            const { effect } = turn
            if (effect.kind === 'key') {
              expect(['try', 'delay', 'hang']).toContain(before.step)
              expect(before.answers.enabled).toBe(true)
              expect(before.answers.call).toBe('QQ1AA')
              const isMeasuring = before.memo.search !== undefined
              expect(isMeasuring ? ['yes', 'no', 'y', 'n', 'again'] : ['yes', 'again']).toContain(
                word,
              )
              if (word === 'again') expect(before.memo.tried).toBe(true)
              expect(() => parseConfig(effect.configText, 'trial')).not.toThrow()
            }
            turn = effectDone(turn.session, effect, { ok, lines: [] })
          }
          if (turn.session.trail.length > before.trail.length) undo.push(before)
          if (turn.session.trail.length < before.trail.length)
            expect(turn.session.answers).toEqual(undo.pop()!.answers)
        }
      }),
    )
  })
})

describe('setup, at a terminal', () => {
  const typed = (lines: readonly string[]) => {
    const stdin = Object.assign(new PassThrough(), { isTTY: true })
    for (const line of lines) stdin.write(`${line}\n`)
    return stdin
  }

  it('without a terminal it refuses, and says what else there is', async () => {
    const run = await runCommand(setupCommand, [join(folder, 'node.toml')])
    expect(run.exitCode).toBe(1)
    expect(run.stderr).toMatch(/standard input is none; .*samples\/node\.toml/)
  })

  it('writes a file, keeps the old one, and shows what check says', async () => {
    const file = join(folder, 'node.toml')
    writeFileSync(file, '# by hand\n')
    const words = [
      'qq1aa-10',
      'Q1ABC',
      'skip',
      '',
      '1',
      `wav:${join(folder, 'in.wav')}`,
      'skip',
      '7',
    ]
    const stdin = typed([...words, '', '', '', '', 'write', 'yes'])
    stdin.end()
    const run = await runCommand(setupCommand, [file], {
      stdin,
      clock: systemClock(),
      env: process.env,
    })
    expect(run.stdout).toContain(`Written: ${file}`)
    expect(run.stdout).toContain('No errors.')
    expect(run.exitCode).toBe(0)
    expect((await loadConfig(file)).station.call).toBe('QQ1AA-10')
    const aside = readdirSync(folder).find((name) => name.startsWith('node.toml.before-'))!
    expect(readFileSync(join(folder, aside), 'utf8')).toBe('# by hand\n')
  })

  it('no line that was typed too early keys; Ctrl-C while it is keyed unkeys, and writes nothing', async () => {
    const told: string[] = []
    let stop = (): void => {}
    let listener: (outcome: TransmitOutcome) => void = () => {}
    const open: typeof openRadio = () => ({
      port: {
        onOutcome: (one: typeof listener) => {
          listener = one
        },
        onEvent: () => {},
        sendTone: ({ id, tone }: ToneRequest) => {
          told.push(tone)
          queueMicrotask(() => stop())
          stops.push(() => listener({ id, kind: 'refused', atMs: 0, reason: 'cut', airtimeMs: 10 }))
        },
        hold: () => {
          told.push('hold')
          for (const one of stops) one()
        },
        close: async () => void told.push('close'),
      } as unknown as RadioPort,
      start: () => told.push('start'),
    })
    const stops: (() => void)[] = []
    const file = join(folder, 'node.toml')
    const spec = (name: string): string => `wav:${join(folder, name)}`
    const early = [
      '1',
      spec('in.wav'),
      'no',
      '4',
      join(folder, 'hidraw0'),
      spec('out.wav'),
      ...site,
    ]
    const stdin = typed([...station, ...early, 'yes', 'yes', 'yes'])
    const stdout = new PassThrough()
    let shown = ''
    const atTheQuestion = new Promise<void>((resolve) => {
      stdout.on('data', (text: Buffer) => {
        shown += text.toString()
        if (shown.endsWith('to leave it out [no]: ')) resolve()
      })
    })
    const run = runCommand((edges) => setupCommand(edges, open), [file], {
      ...{ stdin, stdout, env: process.env, clock: systemClock() },
      onStop: (one) => {
        stop = one
      },
    })
    await atTheQuestion
    expect(told).toEqual([])
    stdin.write('yes\n')
    const { exitCode } = await run
    expect(told).toEqual(['start', 'mark', 'hold', 'close'])
    expect(shown).toContain('Stopped: nothing is keyed, nothing was written.')
    expect(shown).toContain('NOT identified')
    expect([exitCode, existsSync(file)]).toEqual([1, false])
  })
})
