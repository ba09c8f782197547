import { describe, expect, it } from 'vitest'
import { toneModem } from '../../dsp/modem/modems.js'
import type { AudioSink } from '../../src/audio/audioDevice.js'
import type { KeyLine } from '../../src/ptt/keyLine.js'
import type { ControllerInput } from '../../src/radio/controllerTypes.js'
import { SendingChain } from '../../src/radio/sendingChain.js'
import { frame, ownCall } from './fixtures.js'

const frames = [frame(ownCall, 'x')]
const content = { kind: 'frames', frames, preambleMs: 100, tailMs: 0 } as const
const key = { kind: 'key', content } as const

/** A chain whose line and output answer when a test says so. */
function bench(options: { withoutSink?: boolean; modulateFails?: boolean } = {}) {
  const log: string[] = []
  const inputs: ControllerInput[] = []
  const faults: string[] = []
  const lost: unknown[] = []
  const answers: { ok(value: number): void; fail(error: Error): void }[] = []
  const asked = (what: string): Promise<number> => {
    log.push(what)
    return new Promise((ok, fail) => answers.push({ ok, fail }))
  }
  const line = { key: () => asked('key'), unkey: () => asked('unkey') } as unknown as KeyLine
  const played: Float32Array[] = []
  const sink = {
    sampleRateHz: 12_000,
    play(samples: Float32Array) {
      played.push(samples)
      return asked('play')
    },
    stop: () => log.push('stop'),
  } as unknown as AudioSink
  let modulated = 0
  const chain = new SendingChain({
    ...{ line, sink: options.withoutSink ? undefined : sink, peakLevel: 0.5, toneBalanceDb: 0 },
    modem: {
      ...toneModem,
      modulate(shape) {
        modulated++
        if (options.modulateFails) throw new Error('no such rate')
        return toneModem.modulate(shape)
      },
    },
    onInput: (input) => inputs.push(input),
    onFault: (reason) => faults.push(reason),
    onSinkLost: (error) => lost.push(error),
  })
  /** The answer to what was asked so many asks ago, and all that comes of it. */
  const answer = async (index: number, value: number | Error): Promise<void> => {
    if (value instanceof Error) answers[index]!.fail(value)
    else answers[index]!.ok(value)
    for (let turn = 0; turn < 8; turn++) await Promise.resolve()
  }
  return { chain, log, inputs, faults, lost, played, answer, modulated: () => modulated }
}

describe('line and output in one transmission', () => {
  it('line on, audio, line off: each is told with the moment that the line named', async () => {
    const { chain, log, inputs, played, answer } = bench()
    chain.perform(key)
    await answer(0, 17)
    chain.perform({ kind: 'play' })
    await answer(1, 0)
    chain.perform({ kind: 'unkey', cut: false })
    await answer(2, 900)
    expect(log).toEqual(['key', 'play', 'unkey'])
    expect(inputs).toEqual([
      { kind: 'keyed', atMs: 17 },
      { kind: 'audioEnded' },
      { kind: 'unkeyed', atMs: 900 },
    ])
    expect(played[0]).toEqual(
      toneModem.modulate({ ...content, sampleRateHz: 12_000, peakLevel: 0.5 }),
    )
  })

  it('one that is cut is silenced after its line has been told to go off', async () => {
    const { chain, log } = bench()
    chain.perform(key)
    chain.perform({ kind: 'unkey', cut: true })
    expect(log).toEqual(['key', 'unkey', 'stop'])
  })

  it('without an output the line goes off all the same', async () => {
    const { chain, log, inputs, answer } = bench({ withoutSink: true })
    chain.perform({ kind: 'unkey', cut: true })
    await answer(0, 5)
    expect([log, inputs]).toEqual([['unkey'], [{ kind: 'unkeyed', atMs: 5 }]])
  })
})

describe('what fails', () => {
  it('audio that cannot be made is never keyed', () => {
    const { chain, log, inputs } = bench({ modulateFails: true })
    chain.perform(key)
    expect(log).toEqual([])
    expect(inputs).toEqual([{ kind: 'cut', reason: 'the audio cannot be made: no such rate' }])
  })

  it('a line that does not come on cuts; one that does not go off is a fault, and said', async () => {
    const { chain, inputs, faults, answer } = bench()
    chain.perform(key)
    await answer(0, new Error('no such line'))
    expect(inputs).toEqual([{ kind: 'cut', reason: 'no such line' }])
    chain.perform({ kind: 'unkey', cut: true })
    await answer(1, new Error('it hangs'))
    expect([inputs.length, faults]).toEqual([1, ['it hangs']])
  })

  it('an output that fails cuts, and is told as lost', async () => {
    const { chain, inputs, lost, answer } = bench()
    chain.perform(key)
    await answer(0, 0)
    chain.perform({ kind: 'play' })
    await answer(1, new Error('card gone'))
    expect(inputs.at(-1)).toEqual({ kind: 'cut', reason: 'audio output: card gone' })
    expect(lost).toEqual([new Error('card gone')])
  })
})

describe('an answer that comes after its transmission', () => {
  it.each([
    ['a line that came on', 17],
    ['a line that did not', new Error('too late')],
  ])('of %s is dropped', async (_, value) => {
    const { chain, inputs, answer } = bench()
    chain.perform(key)
    chain.perform(key)
    await answer(0, value)
    expect(inputs).toEqual([])
    await answer(1, 20)
    expect(inputs).toEqual([{ kind: 'keyed', atMs: 20 }])
  })

  it.each([
    ['audio that ended', 0],
    ['an output that failed', new Error('too late')],
  ])('of %s is dropped', async (_, value) => {
    const { chain, inputs, lost, answer } = bench()
    chain.perform(key)
    chain.perform({ kind: 'play' })
    chain.perform(key)
    await answer(1, value)
    expect([inputs, lost]).toEqual([[], []])
  })

  it('of a line that went off is dropped', async () => {
    const { chain, inputs, answer } = bench()
    chain.perform(key)
    chain.perform({ kind: 'unkey', cut: false })
    chain.perform(key)
    await answer(1, 900)
    expect(inputs).toEqual([])
  })
})

it('makes audio ahead of the first transmission where there is an output, and sends none of it', () => {
  const { chain, log, modulated } = bench()
  chain.warmUp()
  expect([modulated(), log]).toEqual([3, []])
  const none = bench({ withoutSink: true })
  none.chain.warmUp()
  expect(none.modulated()).toBe(0)
})
