import { describe, expect, it } from 'vitest'
import { boardService, postService } from '../../src/services/board.js'
import { collectService, leaveService } from '../../src/services/mailbox.js'
import type { LeaveResult, WaitingMessage } from '../../src/services/service.js'
import { answerOf, testContext } from './testContext.js'

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
    const kept = world({ ok: true, waitingCount: 1 })
    expect(await answerOf(leaveService, 'q1kit-9 meet  at 6', kept)).toEqual([
      'Kept for Q1KIT-9. You will be told when it is delivered.',
    ])
    expect(left).toEqual([['N0CALL-7', 'Q1KIT-9', 'meet  at 6']])
    expect(await answerOf(leaveService, 'Q1KIT: hi', world({ ok: true, waitingCount: 3 }))).toEqual(
      ['Kept for Q1KIT (3 waiting). You will be told when it is delivered.'],
    )
  })

  it.each([
    ['', /^Send e\.g\. leave/],
    ['everybody hello', /is not a call sign/],
    ['Q1KIT', /^What should Q1KIT be told\?/],
  ])('asks back on "%s"', async (text, words) => {
    expect((await answerOf(leaveService, text, world({ ok: true, waitingCount: 1 })))[0]).toMatch(
      words,
    )
  })

  it.each([
    ['quota', /too many/],
    ['bad-call', /no station/],
    ['too-long', /too long/],
    ['mailbox-full', /full/],
    ['out-of-order', /out of order\. Tell the operator\.$/],
  ] as const)('says why it was not kept: %s', async (reason, words) => {
    const [line] = await answerOf(leaveService, 'Q1KIT hello', world({ ok: false, reason }))
    expect(line).toMatch(/^Not kept: /)
    expect(line).toMatch(words)
    expect(line!.length).toBeLessThanOrEqual(67)
  })
})

describe('collect', () => {
  const waiting = (count: number) =>
    testContext({
      mailbox: {
        leave: () => ({ ok: false, reason: 'quota' }),
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
  const world = (
    post: { ok: true } | { ok: false; reason: 'quota' | 'too-long' | 'out-of-order' },
  ) => testContext({ notices: { recent: (count) => notices.slice(0, count), post: () => post } })

  it('shows three, or as many as asked for', async () => {
    expect(await answerOf(boardService, '', world({ ok: true }))).toEqual([
      'Q1N-0 now: notice 0 / Q1N-1 60min: notice 1 / Q1N-2 2h: notice 2',
    ])
    const shown = async (text: string): Promise<number> =>
      (await answerOf(boardService, text, world({ ok: true }))).join(' / ').split(' / ').length
    expect(await shown('6')).toBe(6)
    expect(boardService.messagesMax!({ words: ['6'] } as never)).toBe(6)
    expect(await shown('99')).toBe(9)
    expect(await shown('all')).toBe(9)
    expect(await shown('x')).toBe(3)
    expect((await answerOf(boardService, ''))[0]).toMatch(/^The board is empty/)
  })

  it('posts, or says why not', async () => {
    expect((await answerOf(postService, 'hut open', world({ ok: true })))[0]).toMatch(/^Posted/)
    expect((await answerOf(postService, '', world({ ok: true })))[0]).toMatch(
      /^To post send: post TEXT/,
    )
    for (const reason of ['quota', 'too-long', 'out-of-order'] as const)
      expect((await answerOf(postService, 'x', world({ ok: false, reason })))[0]).toMatch(
        /^Not posted: /,
      )
  })
})
