import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { boardService, postService } from '../../src/services/board.js'
import { helpService } from '../../src/services/help.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import { echoService, testNode } from './testNode.js'

const services = [
  echoService,
  helpService(),
  leaveService,
  collectService,
  boardService,
  postService,
]
const text = (octets: Uint8Array): string => Buffer.from(octets).toString('latin1')

/** What anybody may send: nonsense, near misses of the format, and words that services understand. */
const payload = fc.oneof(
  fc.uint8Array({ maxLength: 80 }),
  fc
    .tuple(
      fc.constantFrom(':N0DE-10  :', ':INFO     :', ':ALL      :', ':BLN1     :', ':N0DE-10:'),
      fc.constantFrom(
        '',
        'echo ',
        'leave ',
        'leave N0CALL-8 ',
        'collect',
        'board',
        'post ',
        '?APRS',
        '?',
        'ack',
        'rej',
        'AA:',
      ),
      fc.oneof(fc.uint8Array({ maxLength: 70 }).map(text), fc.string({ maxLength: 70 })),
      fc.constantFrom('', '{1', '{AB}', '{AB}CD', '{', '{123456', '{~|'),
    )
    .map((parts) => Buffer.from(parts.join(''), 'latin1')),
  fc
    .tuple(fc.constantFrom('}', '}N0CALL>APZ001:', '}}}}'), fc.string({ maxLength: 60 }))
    .map((parts) => Buffer.from(parts.join(''), 'latin1')),
)

describe('the node and what nobody should send', () => {
  it('never throws, never faults, sends only well-formed frames (fast-check)', async () => {
    // testNode refuses what a strict AX.25 decoder does not take, and formatMessage what the reference forbids
    const node = testNode({ services, options: { aliases: [{ name: 'INFO', services: [] }] } })
    const source = (call: string) => ({ call, ssid: 7 })
    const destination = { call: 'APZ001', ssid: 0 }
    await fc.assert(
      fc.asyncProperty(
        fc.constantFrom('N0CALL', 'N1CALL', 'N2CALL'),
        payload,
        async (call, octets) => {
          const frame = uiFrame({
            source: source(call),
            destination,
            payload: new Uint8Array(octets),
          })
          node.port.hear(encodeFrame(frame))
          await node.wait(1)
        },
      ),
      { numRuns: 3_000, seed: 5 },
    )
    await node.wait(3_600)
    const faults = node.events.filter(({ kind }) => kind === 'fault')
    expect(faults).toEqual([])
    for (const { line } of node.port.sent) expect(line).toMatch(/^N0DE-10>APZRPT[^:]*::/)
    const answered = node.events.filter(({ kind }) => kind === 'answered').length
    expect(answered).toBeGreaterThan(10)
  })

  it('octets that are not a frame end nothing (fast-check)', () => {
    const node = testNode()
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 120 }), (octets) => {
        node.port.hear(octets)
      }),
      { numRuns: 5_000, seed: 5 },
    )
    expect(node.events.filter(({ kind }) => kind === 'fault')).toEqual([])
  })
})
