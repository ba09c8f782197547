import { describe, expect, it } from 'vitest'
import { boardService, postService } from '../../src/services/board.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import type {
  LeaveRefusal,
  LeaveResult,
  PostRefusal,
  PostResult,
  WaitingMessage,
} from '../../src/services/service.js'
import { answerOf, testContext } from './testContext.js'

const kept = (waitingCount: number) => ({ ok: true, waitingCount, keptMs: 7 * 86_400_000 }) as const
const posted = { ok: true, keptMs: 7 * 86_400_000 } as const

describe('leave', () => {
  const left: unknown[] = []
  const world = (result: LeaveResult) =>
    testContext({
      mailbox: {
        leave: (question, toCall, text) => {
          left.push([question.from, toCall, text])
          return result
        },
        waitingFor: () => [],
        collect: () => [],
      },
    })

  it('hands the text over as it was sent', async () => {
    const one = world(kept(1))
    expect(await answerOf(leaveService, 'q1kit-9 meet  at 6', one)).toEqual([
      'Kept 7 days for Q1KIT-9. You are told when it is delivered.',
    ])
    expect(left).toEqual([['N0CALL-7', 'Q1KIT-9', 'meet  at 6']])
    expect(await answerOf(leaveService, 'Q1KIT: hi', world(kept(3)))).toEqual([
      'Kept 7 days for Q1KIT (3 waiting). You are told when it is delivered.',
    ])
  })

  it.each([
    ['', /^Send e\.g\. leave/],
    ['everybody hello', /is not a call sign/],
    ['Q1KIT', /^What should Q1KIT be told\?/],
  ])('asks back on "%s"', async (text, words) => {
    expect((await answerOf(leaveService, text, world(kept(1))))[0]).toMatch(words)
  })

  const longestCall = 'Q1ABCD-15'
  it.each<[LeaveRefusal, string]>([
    [
      { ok: false, reason: 'sender-quota', limit: 1000 },
      '1000 of yours wait already. Wait until one is collected.',
    ],
    [
      { ok: false, reason: 'addressee-quota', limit: 1000 },
      `1000 wait for ${longestCall} already. Try again later.`,
    ],
    [{ ok: false, reason: 'bad-call' }, `no message can be left for ${longestCall}.`],
    [
      { ok: false, reason: 'too-long', excessCharacters: 9, charactersMax: 57 },
      '9 characters too long. At most 57 with your call.',
    ],
    [
      { ok: false, reason: 'too-long', excessCharacters: 1, charactersMax: 57 },
      '1 character too long. At most 57 with your call.',
    ],
    [{ ok: false, reason: 'mailbox-full' }, 'the mailbox is full. Try again later.'],
    [{ ok: false, reason: 'out-of-order' }, 'the mailbox is out of order. Tell the operator.'],
  ])('says why it was not kept, in one message: %o', async (refusal, words) => {
    const [line] = await answerOf(leaveService, `${longestCall} hello`, world(refusal))
    expect(line).toBe(`Not kept: ${words}`)
    expect(line!.length).toBeLessThanOrEqual(67)
  })

  it.each([
    [3_600_000, '1 hour'],
    [47 * 3_600_000, '47 hours'],
    [48 * 3_600_000, '2 days'],
    [365 * 86_400_000, '365 days'],
  ])('says how long it is kept: %d ms', async (keptMs, words) => {
    const [line] = await answerOf(leaveService, 'Q1KIT hi', world({ ...kept(1), keptMs }))
    expect(line).toBe(`Kept ${words} for Q1KIT. You are told when it is delivered.`)
  })
})

describe('collect', () => {
  const waiting = (count: number) =>
    testContext({
      mailbox: {
        leave: () => ({ ok: false, reason: 'mailbox-full' }),
        waitingFor: () => [],
        collect: () => Array.from({ length: count }, () => ({}) as WaitingMessage),
      },
    })
  it('says how many follow', async () => {
    expect(await answerOf(collectService, '', waiting(0))).toEqual([
      'Nothing is waiting for N0CALL-7.',
    ])
    expect(await answerOf(collectService, '', waiting(1))).toEqual(['1 message for you follows.'])
    expect(await answerOf(collectService, '', waiting(4))).toEqual(['4 messages for you follow.'])
  })
})

describe('board and post', () => {
  const now = testContext().clock.wallMs()
  const notices = Array.from({ length: 12 }, (_, at) => ({
    from: `Q1N-${at}`,
    text: `notice ${at}`,
    postedWallMs: now - at * 3_600_000,
  }))
  const world = (post: PostResult) =>
    testContext({ notices: { recent: (count) => notices.slice(0, count), post: () => post } })

  it('shows three, or as many as asked for', async () => {
    expect(await answerOf(boardService, '', world(posted))).toEqual([
      'Q1N-0 now: notice 0 / Q1N-1 60min: notice 1 / Q1N-2 2h: notice 2',
    ])
    const shown = async (text: string): Promise<number> =>
      (await answerOf(boardService, text, world(posted))).join(' / ').split(' / ').length
    expect(await shown('6')).toBe(6)
    expect(boardService.messagesMax!({ words: ['6'] } as never)).toBe(6)
    expect(await shown('99')).toBe(9)
    expect(await shown('all')).toBe(9)
    expect(await shown('x')).toBe(3)
    expect((await answerOf(boardService, ''))[0]).toMatch(/^The board is empty/)
  })

  it('posts, or says why not', async () => {
    expect(await answerOf(postService, 'hut open', world(posted))).toEqual([
      'On the board for 7 days. To read it: board',
    ])
    expect((await answerOf(postService, '', world(posted)))[0]).toMatch(/^To post send: post TEXT/)
  })

  it.each<[PostRefusal, string]>([
    [
      { ok: false, reason: 'sender-quota', limit: 100, freeAfterMs: 2 * 86_400_000 },
      'yours are 100 of 100. The oldest goes in 2 days.',
    ],
    [
      { ok: false, reason: 'board-full', limit: 50, freeAfterMs: 60_000 },
      'the board is full. The oldest goes in 1 hour.',
    ],
    [{ ok: false, reason: 'board-full', limit: 50, freeAfterMs: undefined }, 'the board is full.'],
    [
      { ok: false, reason: 'too-long', excessCharacters: 12, charactersMax: 55 },
      '12 characters too long. At most 55 with your call.',
    ],
    [{ ok: false, reason: 'out-of-order' }, 'the board is out of order. Tell the operator.'],
  ])('not posted, in one message: %o', async (refusal, words) => {
    const [line] = await answerOf(postService, 'x', world(refusal))
    expect(line).toBe(`Not posted: ${words}`)
    expect(line!.length).toBeLessThanOrEqual(67)
  })
})
