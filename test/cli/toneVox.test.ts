import { describe, expect, it } from 'vitest'
import { askForHang, findHang, longestGapMs, type Seen } from '../../src/cli/tone/toneVox.js'
import { parseConfig } from '../../src/config/load.js'
import type { TransmitOutcome } from '../../src/radio/port.js'
import type { RadioPort, ToneRequest } from '../../src/radio/radioPort.js'
import { transmissionAudio } from '../../src/radio/transmissionAudio.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

/** A radio that stays on for hangMs after its audio, and somebody who sees it. */
const radioWith = (hangMs: number) => {
  const gapsMs: number[] = []
  const look = async (gapMs: number): Promise<Seen> => {
    gapsMs.push(gapMs)
    return gapMs > hangMs ? 'off' : 'on'
  }
  return { gapsMs, look }
}

describe('finding the hang of a radio', () => {
  it('closes in on it, whatever it is', async () => {
    for (let hangMs = 0; hangMs < 3400; hangMs += 37) {
      const { gapsMs, look } = radioWith(hangMs)
      const found = (await findHang(3400, look))!
      expect(found.fromMs).toBeLessThanOrEqual(hangMs)
      expect(found.toMs).toBeGreaterThan(hangMs)
      expect(found.toMs - found.fromMs).toBeLessThanOrEqual(40)
      expect(gapsMs.length).toBeLessThanOrEqual(8)
    }
  })

  it('says so when the radio never goes off, when it is asked again, and when nobody wants to go on', async () => {
    expect(await findHang(3400, radioWith(4000).look)).toEqual({ fromMs: 3400, toMs: Infinity })
    const { gapsMs, look } = radioWith(500)
    let times = 0
    const unsure = async (gapMs: number): Promise<Seen> => {
      const seen = await look(gapMs)
      return ++times % 2 === 1 ? 'again' : seen
    }
    expect((await findHang(3400, unsure))!.toMs).toBeGreaterThan(500)
    expect(gapsMs[0]).toBe(gapsMs[1])
    expect(await findHang(3400, async () => 'end')).toBeUndefined()
  })

  it('two tones, with nothing between them', () => {
    const shape = { sampleRateHz: 12_000, peakLevel: 0.5, toneBalanceDb: 0 }
    const content = { kind: 'tone', tone: 'mark', durationMs: 2200, gapMs: 1000 } as const
    const samples = transmissionAudio(content, shape)
    expect(samples).toHaveLength(26_400)
    const loudest = (fromMs: number, toMs: number): number =>
      Math.max(...samples.subarray(fromMs * 12, toMs * 12).map(Math.abs))
    expect(loudest(100, 500)).toBeGreaterThan(0.45)
    expect(loudest(600, 1600)).toBe(0)
    expect(loudest(1700, 2100)).toBeGreaterThan(0.45)
  })
})

describe('tone vox', () => {
  const radio = parseConfig(
    '[transmit]\nenabled = true\n[audio]\noutput = "alsa:x"\n[ptt]\nhangMs = 3000\n',
    'node.toml',
  ).radios[0]!

  async function run(answers: (request: ToneRequest) => string | undefined, refusal?: string) {
    const sent: ToneRequest[] = []
    const listeners: ((outcome: TransmitOutcome) => void)[] = []
    const { PassThrough } = await import('node:stream')
    const stdin = new PassThrough()
    let told = ''
    const port = {
      onOutcome: (listener: (typeof listeners)[number]) => void listeners.push(listener),
      sendTone(request: ToneRequest) {
        sent.push(request)
        const end = { id: request.id, atMs: 0 }
        for (const listener of listeners.splice(0))
          listener(
            refusal === undefined
              ? { ...end, kind: 'sent', airtimeMs: 1 }
              : { ...end, kind: 'expired', reason: refusal },
          )
        const answer = answers(request)
        if (answer === undefined) stdin.end()
        else stdin.write(`${answer}\n`)
      },
    } as unknown as RadioPort
    const stderr = { write: (text: string) => (told += text) } as unknown as NodeJS.WritableStream
    const isKnown = await askForHang(port, radio, { clock: virtualClock(), stderr, stdin })
    return { isKnown, sent, told }
  }

  it('asks until it knows, within the time-out timer, and says what to write', async () => {
    const { isKnown, sent, told } = await run(({ gapMs }) => (gapMs! > 730 ? 'y' : 'n'))
    expect(isKnown).toBe(true)
    expect(longestGapMs(radio)).toBe(3200)
    for (const { durationMs, gapMs } of sent) {
      expect(durationMs - gapMs!).toBe(1200)
      expect(durationMs + 3000).toBeLessThan(radio.transmit.timeOutMs)
    }
    const hangMs = Number(/Write ptt\.hangMs = (\d+)/.exec(told.replaceAll('\n', ' '))?.[1])
    expect(hangMs).toBeGreaterThan(730)
    expect(hangMs).toBeLessThan(880)
  })

  it('ends when nothing more is answered, and when it cannot be sent', async () => {
    expect(await run(() => undefined)).toMatchObject({ isKnown: false })
    const { isKnown, told } = await run(() => 'y', 'the channel was busy')
    expect(isKnown).toBe(false)
    expect(told).toMatch(/not sent: the channel was busy/)
  })
})
