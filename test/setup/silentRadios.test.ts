import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { parseConfig } from '../../src/config/load.js'
import { createSoundCardRadio } from '../../src/radio/soundCardRadio.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { radioSetup } from '../../src/setup/openRadio.js'
import { silentMsMax, silentRadios } from '../../src/setup/silentRadios.js'

const setup = radioSetup(parseConfig('[audio]\ninput = "pcm:-"\n', 'node.toml'), 0, '/tmp')

describe('what the watchdog is told', () => {
  it('a thread that ends again and again is told after five minutes, and no sooner', async () => {
    const clock = virtualClock()
    // this file cannot be loaded: each thread ends at once
    const workerFile = fileURLToPath(new URL('no-such-worker.js', import.meta.url))
    const port = createSoundCardRadio({ setup, clock, workerFile })
    const ended = new Promise<void>((resolve) => port.onEvent(() => resolve()))
    port.start()
    await ended
    const radios = [{ port, lifeSignAtMs: () => port.lifeSignAtMs() }]
    expect(silentRadios(radios, clock.monotonicMs() + silentMsMax)).toBeUndefined()
    expect(silentRadios(radios, clock.monotonicMs() + silentMsMax + 1)).toBe(
      'the thread of radio has told nothing for 5 minutes',
    )
    await port.close()
  })

  it('a modem has no thread', () => {
    const port = { name: 'hill' } as Parameters<typeof silentRadios>[0][number]['port']
    expect(silentRadios([{ port }], 1e12)).toBeUndefined()
  })
})
