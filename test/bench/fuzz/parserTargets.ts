import type { ControlSecret } from '../../../src/control/codeCheck.js'
import type { ClientLink } from '../../../src/kiss/hub.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import type { ServiceContext } from '../../../src/services/service.js'
import type { Target } from './engine.js'
import { bytes, type Load, sample } from './seeds.js'

/** A refusal in words is what a parser of ours may throw; anything else is a finding. */
const orFailure = (Failure: new (...given: never[]) => Error, read: () => unknown): void => {
  try {
    read()
  } catch (error) {
    if (!(error instanceof Failure)) throw error
    if (error.message.length > 100_000) throw new Error('a message of over 100,000 characters')
  }
}

const loadFailure = async (load: Load) =>
  (await load<typeof import('../../../src/runtime/failure.js')>('src/runtime/failure.ts')).Failure

/** Octets of a KISS client, in pieces, into the hub. */
export async function kissTarget(load: Load): Promise<Target> {
  const { createKissHub } = await load<typeof import('../../../src/kiss/hub.js')>('src/kiss/hub.ts')
  let passed = 0
  const hub = createKissHub({
    host: {
      radios: [0, 1],
      send: ({ onSent }) => {
        passed++
        onSent?.()
      },
      refuse: () => {},
      malformed: () => {},
      gone: () => {},
      setParameters: () => true,
    },
    receiveOnly: false,
    parametersAllowed: true,
  })
  const link: ClientLink = {
    ...{ name: 'fuzz', isLocal: true, waitingOctetsMax: 65_536, whenFull: 'client' },
    write: () => {},
    waitingOctets: () => 0,
    drop: () => {},
  }
  return {
    name: 'kiss',
    seeds: [
      bytes('\xc0\x00\x82\xa0\x82\xa4\xa4\x40\x60\x03\xf0>test\xc0'),
      bytes(
        '\xc0\x10ab\xdb\xdc\xdb\xddcd\xc0\xc0\x01\x32\xc0\x02\x3f\xc0\x03\x0a\xc0\x04\x05\xc0\x05\x01\xc0',
      ),
      bytes('\xc0\x0c\x00\x01an acknowledged frame\xc0\xc0\xff\xc0\xc0\x06\x01\x02\xc0'),
      bytes('GET / HTTP/1.1\r\nHost: x\r\n\r\n'),
    ],
    words: [
      '\xc0',
      '\xdb',
      '\xdb\xdc',
      '\xdb\xdd',
      '\xc0\x00',
      '\xc0\x1c',
      '\xc0\xff\xc0',
      '\xc0\xc0',
    ],
    run(input) {
      const session = hub.attach(link)
      const third = Math.ceil(input.length / 3)
      for (let at = 0; at < input.length; at += third)
        session.push(Buffer.from(input.subarray(at, at + third)))
      session.detach()
      if (hub.clients.length > 0) throw new Error('a client that is gone is still there')
    },
    get reachedCount() {
      return passed
    },
  }
}

export async function wavTarget(load: Load): Promise<Target> {
  const { readWavHeader } =
    await load<typeof import('../../../src/audio/wavHeader.js')>('src/audio/wavHeader.ts')
  const { wavHeader } =
    await load<typeof import('../../../src/audio/wavWriter.js')>('src/audio/wavWriter.ts')
  const Failure = await loadFailure(load)
  const formats = ['u8', 's16le', 's24le', 's32le', 'f32le', 'f64le'] as const
  return {
    name: 'wav',
    seeds: formats.map((sampleFormat) =>
      Buffer.concat([
        wavHeader({ sampleRateHz: 48_000, sampleFormat, channelCount: 2 }, 64),
        Buffer.alloc(64),
      ]),
    ),
    words: [
      'RIFF',
      'RF64',
      'WAVE',
      'fmt ',
      'data',
      'LIST',
      'ds64',
      'fact',
      '\xff\xff\xff\xff',
      '\x01\x00',
      '\xfe\xff',
    ],
    run(input) {
      for (const size of [input.length, Number.POSITIVE_INFINITY])
        orFailure(Failure, () => {
          const header = readWavHeader(
            { size, read: (at, count) => input.subarray(at, at + count) },
            'fuzz',
          )
          const { sampleRateHz, channelCount, dataAt, dataOctets } = header
          if (!(sampleRateHz >= 8000 && channelCount >= 1 && dataOctets >= 0))
            throw new Error(
              `a header of ${sampleRateHz} Hz, ${channelCount} channels, ${dataOctets} octets`,
            )
          if (dataAt + dataOctets > size) throw new Error('data beyond the end of the file')
        })
    },
  }
}

export async function configTarget(load: Load): Promise<Target> {
  const { parseConfig } =
    await load<typeof import('../../../src/config/load.js')>('src/config/load.ts')
  const Failure = await loadFailure(load)
  const reference = sample('node.toml')
    .replace(/^#(?=[[\w])/gm, '')
    .replace(/^##.*\n/gm, '')
  const tables = reference.split(/\n(?=\[)/)
  const keys = [...reference.matchAll(/^(\w+) =/gm)].map(([, key]) => `\n${key} = `)
  return {
    name: 'config',
    seeds: [sample('hilltop/node.toml'), ...tables].map((text) => Buffer.from(text)),
    words: [
      ...keys,
      ...tables.map((text) => `\n${text.split('\n')[0]}\n`),
      '[[',
      ']]',
      '"""',
      '\\u0000',
      '1979-05-27',
      'inf',
      'nan',
      '{',
      '[',
      '__proto__',
      'constructor',
      'true',
    ],
    run(input) {
      orFailure(Failure, () => parseConfig(Buffer.from(input).toString('utf8'), 'fuzz.toml'))
    },
  }
}

/** Texts to the services that stop the station, with a list of codes that never ends. */
export async function codesTarget(load: Load): Promise<Target> {
  const { controlServices } =
    await load<typeof import('../../../src/services/control.js')>('src/services/control.ts')
  const { createCodeCheck } = await load<typeof import('../../../src/control/codeCheck.js')>(
    'src/control/codeCheck.ts',
  )
  const { counterCode } = await load<typeof import('../../../src/control/oneTimeCode.js')>(
    'src/control/oneTimeCode.ts',
  )
  const clock = virtualClock()
  let secret: ControlSecret = {
    call: 'Q1ABC',
    goesBy: 'counter',
    secret: new Uint8Array(20).fill(7),
    counter: 0,
  }
  let begun = 0
  const check = createCodeCheck({
    book: {
      of: (call) => (call === secret.call ? [secret] : []),
      keepCounter: (_, counter) => {
        if (counter < secret.counter) throw new Error('the counter went back')
        secret = { ...secret, counter }
        return true
      },
    },
    window: 20,
    trustedWallMs: () => undefined,
  })
  const services = controlServices({
    ...{ clock, check },
    hold: { begin: () => ++begun > 0, end: () => true } as never,
    isEnrolled: (call) => call === secret.call,
    describeState: () => 'duty 0 %',
    onCommand: (text) => void (text.endsWith(': done') && reached++),
  })
  let reached = 0
  const nextCode = '%CODE%'
  return {
    name: 'codes',
    seeds: [
      'hold %CODE%',
      'hold 30m %CODE%',
      'release %CODE%',
      'state %CODE%',
      'state 000000',
      'hold 99999d 123456',
    ].map(bytes),
    words: [
      'hold ',
      'release ',
      'state ',
      '30m ',
      '2h ',
      '7d ',
      nextCode,
      ' ',
      '000000',
      '12345678',
      '1',
    ],
    run(input) {
      const code = counterCode(secret.secret, secret.counter, 6)
      const text = Buffer.from(input).toString('utf8').replaceAll(nextCode, code)
      const before = secret.counter
      for (const service of services) {
        if (service.keyword !== text.trim().split(/\s+/)[0]?.toLowerCase()) continue
        const question = { id: 'Q1', from: 'Q1ABC-7', text, words: [], rest: '' }
        const answer = service.answer(question, { rehearsal: false } as unknown as ServiceContext)
        if (typeof answer !== 'string' || answer === '') throw new Error('no answer in words')
      }
      if (secret.counter > before + 21)
        throw new Error(`the counter went from ${before} to ${secret.counter}`)
      // so that wrong codes are forgotten now and then
      clock.advanceTo(clock.monotonicMs() + 60_000)
    },
    get reachedCount() {
      return reached
    },
  }
}
