import { describe, expect, it } from 'vitest'
import type { Submitted } from '../../../src/node/email/carrier.js'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import type { Email, NewEmail } from '../../../src/store/emails.js'
import {
  accepted,
  dayMs,
  hourMs,
  type MailAlone,
  type MailChange,
  mailAlone,
  minuteMs,
  noLink,
} from './mailAlone.js'

/** Puts a mail onto the disk that nobody was told of. */
function put({ store, clock }: MailAlone, text: string, more: Partial<NewEmail> = {}): number {
  const kept = store.durably('a letter', () =>
    store.emails.insert({
      ...{ questionId: `q ${text}`, kind: 'letter', from: 'N0CALL-7', text, language: 'en' },
      ...{ toAddress: 'anna@example.org', toName: 'anna', inReplyTo: undefined },
      ...{ messageId: `<${text}@station.example>`, leftWallMs: clock.wallMs() },
      ...{ expiresWallMs: clock.wallMs() + 7 * dayMs, expiryTrusted: true, ...more },
    }),
  )
  return kept.ok ? kept.value.id : 0
}

/** A queue with these mails on the disk, that has looked at them once. */
async function started(
  texts: readonly string[],
  replies: readonly (Submitted | Promise<Submitted>)[] = [],
  change: MailChange = {},
) {
  const alone = mailAlone(change)
  for (const text of texts) put(alone, text)
  alone.replies.push(...replies)
  const link = alone.link({ withoutInbox: true })
  link.start()
  await alone.advance(0)
  return { alone, link, given: () => alone.mails.map(({ text }) => text.split('\n')[0]) }
}

const later: Submitted = { kind: 'later', reply: '450 busy' }
const unsure: Submitted = { kind: 'unsure', reason: 'closed' }
const pending = (): { promise: Promise<Submitted>; end: (result: Submitted) => void } => {
  let end: (result: Submitted) => void = () => {}
  const promise = new Promise<Submitted>((resolve) => {
    end = resolve
  })
  return { promise, end }
}

describe('the end of a mail', () => {
  const stateOf = ({ state, reason, underWay, attempts }: Email) => ({
    ...{ state, reason, underWay, attempts },
  })

  it('is kept with its reason, noted and counted, and its sender is told by a message that waits', async () => {
    const { alone, link } = await started(['hello'])
    expect(stateOf(alone.email(1)!)).toEqual({
      ...{ state: 'sent', reason: '250 OK', underWay: false, attempts: 1 },
    })
    expect(alone.email(1)!.endedWallMs).toBe(alone.clock.wallMs())
    expect(alone.events).toEqual([
      'delivered mail for anna@example.org: hello (N0CALL-7 E1: 250 OK)',
    ])
    const createdWallMs = alone.clock.wallMs()
    const { keepMs } = alone.parts.nodeOptions.mailbox
    expect(alone.messages).toEqual([
      {
        ...{ id: 1, kind: 'report', to: 'N0CALL-7', number: '81', radio: 1, state: 'waiting' },
        ...{ text: 'Your mail to anna went out: hello', createdWallMs, attempts: 0 },
        ...{ notAfterWallMs: createdWallMs + keepMs, endedWallMs: undefined, reason: undefined },
        ...{ replyTo: undefined, questionId: undefined, mailboxId: undefined },
      },
    ])
    expect(alone.store.messages.open()).toEqual(alone.messages)
    expect(link.state).toEqual({
      ...{ waitingCount: 0, trouble: undefined },
      counts: [{ what: 'sent', reason: '', count: 1 }],
    })
  })

  it('that the server refused has its code', async () => {
    const { alone } = await started(['hello'], [{ kind: 'refused', code: 550, reply: '550 none' }])
    expect(stateOf(alone.email(1)!)).toMatchObject({ state: 'refused', reason: '550 none' })
    expect(alone.told).toEqual(['N0CALL-7: Your mail to anna was refused (550): hello'])
    expect(alone.events).toEqual([
      'rejected mail for anna@example.org: hello (N0CALL-7 E1: 550 none)',
    ])
  })

  it('is told in the language of its sender, with a name of 20 characters, in one message', async () => {
    const alone = mailAlone()
    put(alone, 'x'.repeat(60), { language: 'de', toName: 'anna-with-a-long-name@example.org' })
    alone.link({ withoutInbox: true }).start()
    await alone.advance(0)
    expect(alone.told).toEqual([
      `N0CALL-7: Deine Mail an anna-with-a-long-n.. ging hinaus: ${'x'.repeat(17)}..`,
    ])
  })

  it.each(['report', 'alert'] as const)('is told to nobody for a %s', async (kind) => {
    const alone = mailAlone()
    put(alone, 'x', { kind })
    alone.link({ withoutInbox: true }).start()
    await alone.advance(0)
    expect(alone.email(1)!.state).toBe('sent')
    expect(alone.told).toEqual([])
  })

  it('that the disk did not take is tried to keep again, and the mail is not given again', async () => {
    const alone = mailAlone({ keepMs: minuteMs })
    put(alone, 'hello', { expiresWallMs: alone.clock.wallMs() + minuteMs })
    alone.failing.add('what became of a mail')
    alone.link({ withoutInbox: true }).start()
    await alone.advance(3 * minuteMs)
    expect(alone.mails).toHaveLength(1)
    expect([alone.email(1)!.state, alone.told, alone.events]).toEqual(['waiting', [], []])
    alone.failing.clear()
    await alone.advance(minuteMs)
    expect(alone.email(1)!.state).toBe('sent')
    expect(alone.told).toHaveLength(1)
    await alone.advance(5 * minuteMs)
    expect([alone.told.length, alone.mails.length]).toEqual([1, 1])
  })
})

describe('without a link', () => {
  it('nothing else is tried, until longer and longer waits are over; then all goes', async () => {
    const { alone, link, given } = await started(['1', '2'], [noLink, noLink])
    expect(given()).toEqual(['1'])
    expect(alone.email(1)).toMatchObject({ underWay: false, unsureCount: 0, attempts: 1 })
    expect(alone.events).toEqual([
      'held mail for anna@example.org: 1 (N0CALL-7 E1: no server; again in 5 min)',
    ])
    expect(link.state).toEqual({
      ...{ waitingCount: 2, trouble: 'no server' },
      counts: [{ what: 'times without a link', reason: 'no server', count: 1 }],
    })
    await alone.advance(5 * minuteMs - 1)
    expect(given()).toHaveLength(1)
    await alone.advance(1)
    expect(given()).toHaveLength(2)
    expect(alone.events[1]).toMatch(/again in 10 min/)
    await alone.advance(10 * minuteMs)
    expect(given()).toEqual(['1', '1', '1', '2'])
    expect(link.state).toMatchObject({ waitingCount: 0, trouble: undefined })
    // the next time the waits begin anew
    put(alone, '3')
    alone.replies.push(noLink)
    await alone.advance(minuteMs)
    expect(alone.events.at(-1)).toMatch(/3 \(N0CALL-7 E3: no server; again in 5 min\)/)
  })

  it.each([
    [1_000, 1],
    [89_000, 1],
    [90_000, 2],
  ])('a wait of %d ms is told as %d min, and is over then', async (retryMs, minutes) => {
    const { alone } = await started(['1'], [noLink], { retryMs })
    expect(alone.events[0]).toContain(`again in ${minutes} min`)
    await alone.advance(retryMs - 1)
    expect(alone.mails).toHaveLength(1)
    await alone.advance(1)
    expect(alone.mails).toHaveLength(2)
  })

  it('what is written meanwhile waits, too', async () => {
    const { alone, link } = await started(['1'], [noLink])
    put(alone, '2')
    link.alert('ops@far.example', 'x')
    await alone.advance(1_000)
    expect(alone.mails).toHaveLength(1)
  })

  it('that the disk does not take a try is one, too', async () => {
    const alone = mailAlone()
    for (const text of ['1', '2']) put(alone, text)
    alone.failing.add('that a mail is tried')
    alone.link({ withoutInbox: true }).start()
    await alone.advance(0)
    alone.failing.clear()
    await alone.advance(5 * minuteMs - 1)
    expect(alone.mails).toEqual([])
    await alone.advance(1)
    expect(alone.mails).toHaveLength(2)
  })
})

describe('a mail that the server does not want now', () => {
  it('waits for itself, and the others go', async () => {
    const { alone, link, given } = await started(['1', '2'], [later])
    expect(given()).toEqual(['1', '2'])
    expect(alone.events[0]).toBe(
      'queued mail for anna@example.org: 1 (N0CALL-7 E1: 450 busy; again in 5 min)',
    )
    expect(alone.email(1)).toMatchObject({ state: 'waiting', underWay: false, unsureCount: 0 })
    expect(link.state).toEqual({
      ...{ waitingCount: 1, trouble: undefined },
      counts: [
        { what: 'to be tried later', reason: '', count: 1 },
        { what: 'sent', reason: '', count: 1 },
      ],
    })
    await alone.advance(5 * minuteMs - 1)
    expect(given()).toHaveLength(2)
    await alone.advance(1)
    expect(given()).toEqual(['1', '2', '1'])
  })

  it('stays begun where the disk does not take that it waits', async () => {
    const alone = mailAlone()
    put(alone, '1')
    alone.replies.push(later)
    alone.failing.add('that a mail waits again')
    alone.link({ withoutInbox: true }).start()
    await alone.advance(0)
    expect(alone.email(1)!.underWay).toBe(true)
  })
})

describe('a mail of which nobody knows whether it went', () => {
  it('is given three times, with waits between; then it ends', async () => {
    const { alone, link, given } = await started(['1', '2'], [unsure, unsure, unsure])
    expect(given()).toEqual(['1'])
    expect(alone.events).toEqual([
      'queued mail for anna@example.org: 1 (N0CALL-7 E1: perhaps taken: closed; again in 5 min)',
    ])
    expect(alone.email(1)).toMatchObject({ underWay: false, unsureCount: 1 })
    expect(link.state).toMatchObject({
      trouble: 'closed',
      counts: [{ what: 'broke off at the end', reason: 'closed', count: 1 }],
    })
    await alone.advance(5 * minuteMs)
    // its own wait and the link's are over at once; the second try took both
    expect(given()).toEqual(['1', '1'])
    await alone.advance(10 * minuteMs)
    expect(given()).toEqual(['1', '1', '1'])
    expect(alone.email(1)).toMatchObject({ state: 'unsure', reason: 'closed', unsureCount: 3 })
    expect(alone.told).toEqual(['N0CALL-7: Your mail to anna went out, perhaps: 1'])
    expect(alone.events.at(-1)).toBe('given up mail for anna@example.org: 1 (N0CALL-7 E1: closed)')
    await alone.advance(20 * minuteMs)
    expect(given()).toEqual(['1', '1', '1', '2'])
  })

  it('is one whose carrier failed', async () => {
    const failed = Promise.reject(new Error('torn'))
    failed.catch(() => {})
    const { alone } = await started(['1'], [failed])
    expect(alone.events[0]).toMatch(/^queued .*perhaps taken: torn; again in 5 min\)$/)
    expect(alone.email(1)!.unsureCount).toBe(1)
  })
})

describe('what is tried when', () => {
  it('all that wait, oldest first, however many', async () => {
    const texts = Array.from({ length: 45 }, (_, at) => `text ${at}`)
    const { given } = await started(texts, [], { waitingMax: 100 })
    expect(given()).toEqual(texts)
  })

  it('what is on the disk is found within a minute; what was written, at once, also behind one that is being sent', async () => {
    const { alone, link, given } = await started([])
    put(alone, '1')
    await alone.advance(minuteMs - 1)
    expect(given()).toEqual([])
    const slow = pending()
    alone.replies.push(slow.promise)
    await alone.advance(1)
    expect(given()).toEqual(['1'])
    link.alert('ops@far.example', 'new')
    await alone.advance(10 * minuteMs)
    expect(given()).toEqual(['1'])
    slow.end(accepted)
    await alone.advance(0)
    expect(given()).toEqual(['1', 'new'])
    link.alert('ops@far.example', 'newer')
    await alone.advance(0)
    expect(given()).toEqual(['1', 'new', 'newer'])
  })

  it('not what its sender took back while another one was sent', async () => {
    const slow = pending()
    const { alone, given } = await started(['1', '2', '3'], [slow.promise])
    alone.store.durably('taken back', () => alone.store.emails.end(2, 'withdrawn', 1))
    slow.end(accepted)
    await alone.advance(0)
    expect(given()).toEqual(['1', '3'])
  })

  it('a fault of its own is told, and the next look goes on', async () => {
    const alone = mailAlone()
    put(alone, '1')
    let isBroken = true
    const { submit } = alone.parts
    Object.assign(alone.parts, {
      submit: (mail: Parameters<typeof submit>[0]) => {
        if (isBroken) throw new Error('no carrier')
        return submit(mail)
      },
    })
    alone.link({ withoutInbox: true }).start()
    await alone.advance(0)
    expect(alone.events).toEqual(['fault sending mail ( : no carrier)'])
    isBroken = false
    await alone.advance(minuteMs)
    expect(alone.mails).toHaveLength(1)
  })
})

describe('the end of a run', () => {
  it('leaves what is being sent begun, and sends nothing any more', async () => {
    const slow = pending()
    const { alone, link, given } = await started(['1', '2'], [slow.promise])
    link.stop()
    slow.end(accepted)
    await alone.advance(0)
    expect(alone.email(1)).toMatchObject({ state: 'waiting', underWay: true })
    link.alert('ops@far.example', 'late')
    await alone.advance(hourMs)
    expect(given()).toEqual(['1'])
    expect([alone.told, alone.events]).toEqual([[], []])
  })

  it('between two looks ends them', async () => {
    const { alone, link } = await started([])
    link.stop()
    put(alone, '1')
    await alone.advance(hourMs)
    expect(alone.mails).toEqual([])
  })
})

describe('the next run', () => {
  /** Three mails: begun, begun for the third time, and not begun. */
  function left(): MailAlone {
    const alone = mailAlone()
    const { emails } = alone.store
    for (const text of ['1', '2', '3']) put(alone, text)
    alone.store.durably('a former run', () => {
      emails.noteAttempt(1)
      for (let n = 0; n < 2; n++) emails.noteWaiting(2, true)
      emails.noteAttempt(2)
    })
    return alone
  }

  it('counts what was begun as perhaps taken: the third time ends it', async () => {
    const alone = left()
    alone.link({ withoutInbox: true }).start()
    expect(alone.email(2)).toMatchObject({
      ...{ state: 'unsure', unsureCount: 3 },
      reason: 'the program ended each time while it was sent',
    })
    await alone.advance(0)
    expect(alone.mails.map(({ text }) => text[0])).toEqual(['1', '3'])
    expect([alone.email(1)!.unsureCount, alone.email(3)!.unsureCount]).toEqual([1, 0])
    expect(alone.told[0]).toBe('N0CALL-7: Your mail to anna went out, perhaps: 2')
  })

  it('ends nothing where the disk does not take that', async () => {
    const alone = left()
    alone.failing.add('mail after a restart')
    alone.link({ withoutInbox: true }).start()
    await alone.advance(0)
    expect(alone.mails.map(({ text }) => text[0])).toEqual(['1', '2', '3'])
  })
})

describe('time', () => {
  it('a mail past its time ends, and its sender is told', async () => {
    const { alone } = await started(['1'], [noLink], {
      keepMs: 7 * dayMs,
      retryMs: 30 * dayMs,
      retryMaxMs: 30 * dayMs,
    })
    await alone.advance(7 * dayMs - 1)
    expect(alone.email(1)!.state).toBe('waiting')
    await alone.advance(1)
    expect(alone.email(1)).toMatchObject({ state: 'expired', reason: 'no link in time' })
    expect(alone.told).toEqual(['N0CALL-7: Your mail to anna found no link in time: 1'])
    expect(alone.events.at(-1)).toBe(
      'expired mail for anna@example.org: 1 (N0CALL-7 E1: no link in time)',
    )
    expect(alone.mails).toHaveLength(1)
  })

  it('a mail that is being sent is not past its time', async () => {
    const slow = pending()
    const { alone } = await started(['1'], [slow.promise])
    await alone.advance(8 * dayMs)
    expect(alone.email(1)!.state).toBe('waiting')
    slow.end(accepted)
    await alone.advance(0)
    expect(alone.email(1)!.state).toBe('sent')
  })

  it('counts from when the clock is right for what was written before; until then none passes', async () => {
    const alone = mailAlone({ retryMs: 30 * dayMs, retryMaxMs: 30 * dayMs, keepMs: hourMs })
    put(alone, '1', { expiryTrusted: false, expiresWallMs: 1 })
    alone.trusted = false
    alone.replies.push(noLink)
    alone.link({ withoutInbox: true }).start()
    await alone.advance(dayMs)
    expect(alone.email(1)).toMatchObject({ state: 'waiting', expiryTrusted: false })
    alone.trusted = true
    await alone.advance(minuteMs)
    expect(alone.email(1)).toMatchObject({
      ...{ expiryTrusted: true, expiresWallMs: alone.clock.wallMs() + hourMs },
    })
    await alone.advance(hourMs - 1)
    expect(alone.email(1)!.state).toBe('waiting')
    await alone.advance(1)
    expect(alone.email(1)!.state).toBe('expired')
  })

  it.each<[string, number | undefined, Partial<NewEmail>, boolean?]>([
    ['when it was written', 1_000, { leftWallMs: 1_000, expiresWallMs: 1_000 + hourMs }],
    [
      'now, by the clock that is right since',
      5_000,
      { expiryTrusted: false, expiresWallMs: 1_000 + hourMs },
    ],
    ['now, where its time was given later', 5_000, { expiresWallMs: 1_001 + hourMs }],
    [
      'now, where it was written after now',
      5_000,
      { leftWallMs: 5_001, expiresWallMs: 5_001 + hourMs },
    ],
    ['when it was written just now', 5_000, { leftWallMs: 5_000, expiresWallMs: 5_000 + hourMs }],
    ['by no clock that is not right', undefined, { expiresWallMs: 1_000 + hourMs }, false],
  ])('a mail is dated %s', async (_, dateWallMs, more, trusted = true) => {
    const clock = virtualClock(0)
    clock.advanceTo(5_000)
    const alone = mailAlone({ keepMs: hourMs }, { clock })
    put(alone, '1', { leftWallMs: 1_000, ...more })
    alone.trusted = trusted
    alone.link({ withoutInbox: true }).start()
    await alone.advance(0)
    expect(alone.mails).toMatchObject([{ dateWallMs }])
  })
})
