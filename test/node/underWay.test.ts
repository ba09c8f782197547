import { describe, expect, it } from 'vitest'
import { dueMessages } from '../../src/node/turns.js'
import {
  inOrder,
  isSameAnswer,
  octetCountOf,
  payloadOf,
  type UnderWay,
  underWay,
} from '../../src/node/underWay.js'
import { underWayTable } from '../../src/node/underWayTable.js'
import type { MessageRecord } from '../../src/store/messages.js'

const message = (id: number, change: Partial<MessageRecord> = {}): MessageRecord => ({
  ...{ id, kind: 'answer', to: 'N0CALL-7', number: `${id}`, replyTo: undefined, text: 'hi' },
  ...{ questionId: 1, mailboxId: undefined, radio: 0, state: 'waiting', attempts: 0 },
  ...{ createdWallMs: 1_000, notAfterWallMs: 11_000, endedWallMs: undefined, reason: undefined },
  ...change,
})
const made = (
  id: number,
  change: Partial<MessageRecord> = {},
  state: Partial<UnderWay> = {},
): UnderWay => ({
  ...underWay(message(id, change), { nowMs: 0, wallMs: undefined, turn: 0 }),
  ...state,
})

describe('a message that is taken up', () => {
  it.each([
    ['just written', 1_000, 10_000],
    ['a while later', 4_000, 7_000],
    ['too late', 12_000, 0],
    ['by a clock that was set back', 500, 10_000],
    ['by a clock that is not trusted', undefined, 10_000],
  ])('%s has its time before it', (_, wallMs, lifeMs) => {
    expect(underWay(message(1), { nowMs: 50, wallMs, turn: 3 }).deadlineMs).toBe(50 + lifeMs)
  })

  it.each([
    ['was never sent', {}, 'waiting', false],
    ['was sent', { attempts: 2 }, 'due', true],
    ['waits for its station', { state: 'parked', attempts: 3 }, 'parked', true],
  ] as const)('that %s is so', (_, change, state, begun) => {
    const record = message(1, change)
    expect(underWay(record, { nowMs: 0, wallMs: 1_000, turn: 3 })).toEqual({
      ...{ message: record, deadlineMs: 10_000, turn: 3, state, begun },
      ...{ attempts: 0, refusals: 0, sentCount: record.attempts, partAcknowledged: false },
    })
  })

  it('goes out in the order of its kind, then as it was written', () => {
    const kinds = [
      'report',
      'mailbox',
      'prompt',
      'error',
      'answer',
      'refusal',
      'reply',
      'emergency',
    ]
    const all = kinds.map((kind, at) => made(at, { kind: kind as MessageRecord['kind'] }))
    expect(inOrder(all).map((one) => one.message.kind)).toEqual([
      ...['emergency', 'refusal', 'reply', 'error', 'answer', 'prompt', 'mailbox', 'report'],
    ])
    expect(inOrder([made(3), made(1), made(2)]).map((one) => one.message.id)).toEqual([1, 2, 3])
  })

  it('is a part of what answers the same question in the same way', () => {
    const own = message(1)
    expect([
      ...[isSameAnswer(own, message(2)), isSameAnswer(own, message(2, { questionId: 2 }))],
      ...[isSameAnswer(own, message(2, { kind: 'refusal' })), isSameAnswer(own, own)],
      isSameAnswer(own, message(2, { kind: 'mailbox' })),
      isSameAnswer(message(1, { questionId: undefined }), message(2, { questionId: undefined })),
    ]).toEqual([true, false, true, true, false, false])
  })

  it('has a payload, or why it has none, and 34 octets beside its text', () => {
    const text = (change: Partial<MessageRecord>) => {
      const payload = payloadOf(message(11, change))
      return payload.ok ? Buffer.from(payload.value).toString() : payload.reason
    }
    expect(text({})).toBe(':N0CALL-7 :hi{11')
    expect(text({ number: undefined })).toBe(':N0CALL-7 :hi')
    expect(text({ replyTo: '05' })).toBe(':N0CALL-7 :hi{11}05')
    expect(text({ text: 'a{b' })).toBe("message text: the character '{' is not allowed")
    expect(octetCountOf({ text: 'hello' })).toBe(39)
  })
})

describe('the messages under way', () => {
  it('are found by message and by station, until they end', () => {
    const table = underWayTable()
    const [second, first] = [made(2), made(1)]
    const other = made(3, { to: 'N0CALL-8', questionId: 2 })
    for (const one of [second, first, other]) table.add(one)
    expect(table.to('N0CALL-7')).toEqual([first, second])
    expect(table.all()).toEqual([second, first, other])
    expect(table.partsOf(second.message)).toEqual([first, second])
    expect(table.partsOf(other.message)).toEqual([other])
    expect([table.count, table.hasId(1), table.hasId(4), table.has(first)]).toEqual([
      ...[3, true, false, true],
    ])
    table.remove(first)
    table.remove(first)
    expect(table.to('N0CALL-7')).toEqual([second])
    expect([table.count, table.hasId(1), table.has(first)]).toEqual([2, false, false])
    table.remove(second)
    table.remove(made(9, { to: 'N0CALL-9' }))
    expect([table.to('N0CALL-7'), table.to('N0CALL-9'), table.count]).toEqual([[], [], 1])
  })

  it('one that was taken up anew is not the former one', () => {
    const table = underWayTable()
    const [former, next] = [made(1), made(1)]
    table.add(former)
    table.add(next)
    expect([table.has(former), table.has(next)]).toEqual([false, true])
  })
})

describe('what may go out to a station now', () => {
  const due = (own: readonly UnderWay[], window = 1, isBusy = false): number[] =>
    dueMessages(own, { window, isBusy }).map((one) => one.message.id)
  const sent: Partial<UnderWay> = { state: 'sent', sentCount: 1 }
  const wants: Partial<UnderWay> = { state: 'due', sentCount: 1 }

  it('is the first part of an answer, and the next when that was acknowledged', () => {
    expect(due([made(1), made(2)], 2)).toEqual([1])
    expect(due([made(1, {}, sent), made(2)])).toEqual([])
    expect(due([made(1, {}, sent), made(2)], 2)).toEqual([2])
    expect(due([made(1, {}, sent), made(2)], 1, true)).toEqual([2])
    expect(due([made(1, {}, sent), made(2, { number: undefined })])).toEqual([2])
    expect(due([made(1, {}, { ...sent, onlyOnce: 'newer' }), made(2)])).toEqual([2])
  })

  it('is nothing behind a part that is with the transmitter, or waits for a moment', () => {
    const sending: Partial<UnderWay> = { state: 'sending' }
    expect(due([made(1, {}, sending), made(2)], 5, true)).toEqual([])
    expect(due([made(1, {}, { state: 'pausing' }), made(2)], 5, true)).toEqual([])
    // one without a number that is with the transmitter holds nothing up but its successors
    expect(due([made(1, { number: undefined }, { ...sending, sentCount: 1 }), made(2)])).toEqual([
      2,
    ])
    expect(due([made(1, {}, { ...sending, sentCount: 1 }), made(2)])).toEqual([])
  })

  it('is no repeat while a part has not gone out', () => {
    expect(due([made(1, {}, wants), made(2, {}, { state: 'pausing' })], 5)).toEqual([])
  })

  it('is the first part alone until one was acknowledged, then as many as may be open', () => {
    const three = (more: Partial<UnderWay> = {}) =>
      [1, 2, 3].map((id) => made(id, {}, { ...wants, ...more }))
    expect(due(three(), 5)).toEqual([1])
    expect(due(three({ partAcknowledged: true }), 2)).toEqual([1, 2])
    expect(due(three({ partAcknowledged: true }), 3)).toEqual([1, 2, 3])
    expect(due([made(1, {}, sent), made(2, {}, { ...wants, partAcknowledged: true })])).toEqual([])
    expect(due([made(1, {}, sent), made(2, {}, wants)], 2)).toEqual([])
  })

  it('is mail one by one, and calls for help before all, each way by itself', () => {
    const mail = { kind: 'mailbox', questionId: undefined } as const
    const help = { kind: 'emergency', questionId: undefined } as const
    expect(due([made(1, mail), made(2, mail)])).toEqual([1])
    expect(due([made(1, mail, sent), made(2, mail)])).toEqual([])
    expect(due([made(1, mail, wants), made(2, mail)], 2)).toEqual([1, 2])
    expect(due([made(1, mail), made(2), made(3, help)])).toEqual([3, 2, 1])
    expect(due([made(1, help, sent), made(2, help)])).toEqual([])
  })

  it('is not what waits for its station, which holds nothing up', () => {
    const mail = { kind: 'report', questionId: undefined } as const
    expect(due([made(1, mail, { state: 'parked' }), made(2, mail)])).toEqual([2])
  })
})
