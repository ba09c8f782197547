import { describe, expect, it } from 'vitest'
import { controllerBench } from './controllerBench.js'
import { frame, ownCall } from './fixtures.js'

describe('identification and forward error correction', () => {
  const il2p = { kind: 'il2p', hasCrc: true } as const
  const fx25 = { kind: 'fx25', checkOctets: 16 } as const

  // Plain receivers read FX.25, and nothing of IL2P: what they cannot read tells nobody who sends.
  it.each([
    ['plain', undefined, [undefined]],
    ['FX.25', fx25, [fx25]],
    ['IL2P', il2p, [il2p, undefined]],
  ] as const)('our own frame in %s', (_, code, codes) => {
    const identification = { intervalMs: 540_000, quietMs: 5_000, destination: 'ID' }
    const bench = controllerBench({ code, identification })
    bench.feed({ kind: 'channel', busy: false })
    bench.send('a1', frame(ownCall, 'answer'), 'answer')
    bench.advanceTo(60_000)
    expect(bench.sent.map(({ content }) => content.kind === 'frames' && content.code)).toEqual(
      codes,
    )
  })
})
