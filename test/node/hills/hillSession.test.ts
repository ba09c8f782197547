import { describe, expect, it } from 'vitest'
import type { Peer } from '../../../src/node/connected/session.js'
import { airtimeShare } from '../../../src/node/hills/airtimeShare.js'
import type { Step } from '../../../src/node/hills/exchange.js'
import { hillSession } from '../../../src/node/hills/hillSession.js'
import {
  characters,
  entryIdOf,
  entryOfQuestion,
  questionOfEntry,
  withdrawalOf,
} from '../../../src/node/hills/ids.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'

const octets = (text: string): Uint8Array => new TextEncoder().encode(text)

/** A session of an exchange that a test plays, over a link that notes what is written. */
function start(steps: Record<string, Step> = {}, takesAll = true) {
  const log: string[] = []
  const peer: Peer = {
    ...{ call: 'Q2BBB', waitingOctets: 0, setReady: () => {} },
    write: (written) => {
      log.push(`writes ${JSON.stringify(Buffer.from(written).toString())}`)
      return takesAll
    },
    close: () => log.push('closes'),
  }
  const running = {
    moved: { given: 0, taken: 0 },
    begin: () => steps.begin ?? { lines: ['hill'] },
    take: (line: string) => {
      log.push(`takes ${line}`)
      return steps[line] ?? { lines: [] }
    },
  }
  const session = hillSession(running, (how) => log.push(`over: ${how}`))(peer)
  return { session, said: () => log.splice(0), log }
}

describe('an exchange over a connection', () => {
  it('says its lines with a CR behind each, and takes those of the other', () => {
    const { session, said } = start({ one: { lines: ['ä', 'b'] } })
    session.begin()
    expect(said()).toEqual(['writes "hill\\r"'])
    session.receive(octets('on'), 0xf0)
    expect(said()).toEqual([])
    session.receive(octets('e\rtwo\rthree'), 0xf0)
    session.drained()
    expect(said()).toEqual(['takes one', 'writes "ä\\rb\\r"', 'takes two'])
  })

  it('closes when it is complete, after its last lines, and takes nothing more', () => {
    const { session, said } = start({ nothing: { lines: ['end'], over: 'complete' } })
    session.receive(octets('nothing\rmore\r'), 0xf0)
    expect(said()).toEqual([...['takes nothing', 'writes "end\\r"', 'over: complete', 'closes']])
    session.receive(octets('more\r'), 0xf0)
    session.ended()
    session.reset()
    expect(said()).toEqual([])
  })

  it.each([
    ['the connection ended', 'ended'],
    ['the link began anew', 'reset'],
  ] as const)('is over when %s', (how, what) => {
    const { session, said } = start()
    session[what]()
    expect(said()).toEqual([`over: ${how}`, 'closes'])
  })

  it('is over at a line of more than 300 octets', () => {
    const { session, said } = start()
    session.receive(octets(`${'x'.repeat(300)}\r`), 0xf0)
    expect(said()).toEqual([`takes ${'x'.repeat(300)}`])
    session.receive(octets(`${'x'.repeat(301)}\ry\r`), 0xf0)
    expect(said()).toEqual(['over: a line that is too long', 'closes'])
  })

  it('is over when the link takes no more, unless it was over anyway', () => {
    const full = start({ last: { lines: ['end'], over: 'complete' } }, false)
    full.session.receive(octets('one\r'), 0xf0)
    expect(full.said()).toEqual(['takes one'])
    full.session.begin()
    expect(full.said()).toEqual([
      'writes "hill\\r"',
      'over: too much waits for the other',
      'closes',
    ])
    const last = start({ last: { lines: ['end'], over: 'complete' } }, false)
    last.session.receive(octets('last\r'), 0xf0)
    expect(last.said()).toEqual(['takes last', 'writes "end\\r"', 'over: complete', 'closes'])
  })
})

describe('the share of the time', () => {
  const hourMs = 3_600_000

  it('is left in any hour, and comes back an hour after it was used', () => {
    const clock = virtualClock()
    const share = airtimeShare(clock, 0.05)
    expect([share.leftMs, share.usedMs]).toEqual([180_000, 0])
    share.note(30_000)
    clock.advanceTo(1_000)
    share.note(50_000)
    expect([share.leftMs, share.usedMs]).toEqual([100_000, 80_000])
    clock.advanceTo(hourMs - 1)
    expect(share.usedMs).toBe(80_000)
    clock.advanceTo(hourMs)
    expect([share.leftMs, share.usedMs]).toEqual([130_000, 50_000])
    clock.advanceTo(hourMs + 1_000)
    expect([share.leftMs, share.usedMs]).toEqual([180_000, 0])
  })

  it('is never below nothing', () => {
    const share = airtimeShare(virtualClock(), 0.05)
    share.note(180_001)
    expect([share.leftMs, share.usedMs]).toEqual([0, 180_001])
  })
})

describe('ids', () => {
  it('are the same for the same, of a to z and 2 to 7', () => {
    expect(characters(16, 'a', 1)).toMatch(/^[a-z2-7]{16}$/)
    expect(characters(16, 'a', 1)).toBe(characters(16, 'a', 1))
    expect(characters(16, 'a', 1)).not.toBe(characters(16, 'a', 2))
    expect(characters(16, 'a', 'bc')).not.toBe(characters(16, 'ab', 'c'))
  })

  it('of entries begin with the node, and say what they are of', () => {
    expect(entryIdOf('Q1HIL-5', 'message', 'q1')).toMatch(/^Q1HIL-5\.[A-Z2-7]{10}$/)
    const parts = [entryIdOf('Q1HIL', 'm', 'q1'), entryIdOf('Q2HIL', 'm', 'q1')]
    expect(parts[0]!.split('.')[1]).not.toBe(parts[1]!.split('.')[1])
    const id = 'Q2BBB.ABCDEFGHJK'
    expect(withdrawalOf('Q1HIL', id)).toMatch(/^Q1HIL\.[A-Z2-7]{10}$/)
    expect(withdrawalOf('Q1HIL', id)).not.toBe(withdrawalOf('Q1HIL', 'Q2BBB.ABCDEFGHJL'))
  })

  it('of what came stand in the question under which it lies here', () => {
    expect(questionOfEntry('Q2BBB.ABCDEFGHJK')).toBe('hill Q2BBB.ABCDEFGHJK')
    expect(entryOfQuestion('hill Q2BBB.ABCDEFGHJK')).toBe('Q2BBB.ABCDEFGHJK')
    expect(entryOfQuestion('q1')).toBeUndefined()
  })
})
