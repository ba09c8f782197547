import { describe, expect, it } from 'vitest'
import { type Endings, parseReport } from '../../../src/node/hills/endings.js'
import type { Outcome } from '../../../src/node/hills/entry.js'
import type { HillRow } from '../../../src/store/hills.js'
import {
  type Bench,
  dayMs,
  ledgerBench,
  letterOptions,
  minuteMs,
  own,
  peer,
} from './ledgerBench.js'

const id = `${peer}.ABCDEFGHJK`

describe('the text of a report', () => {
  it('says what it is of, what became of it, its way, whom it was for, and how it began', () => {
    expect(parseReport(`${id} delivered Q2BBB,Q3MID,Q1OWN\nQ4RCV-7: see: you`)).toEqual({
      ...{ subject: id, outcome: 'delivered', path: ['Q2BBB', 'Q3MID', 'Q1OWN'] },
      ...{ to: 'Q4RCV-7', text: 'see: you' },
    })
    expect(parseReport(`${id} unknown Q2BBB\nQ4RCV-15: `)).toEqual({
      ...{ subject: id, outcome: 'unknown', path: ['Q2BBB'], to: 'Q4RCV-15', text: '' },
    })
  })

  it('keeps a text of any characters in one line', () => {
    const text = (said: string) => parseReport(`${id} delivered Q2BBB\nQ4RCV: ${said}`)?.text
    expect(text('one\ntwo\nthree')).toBe('one two three')
    // Line separators of Unicode are characters as others.
    expect(text('one\u2028two\u2029')).toBe('one\u2028two\u2029')
  })

  it.each([
    '',
    id,
    `${id} delivered`,
    `${id} delivered Q2BBB`,
    `${id} delivered Q2BBB\n`,
    `${id} delivered Q2BBB\nQ4RCV`,
    `${id} delivered Q2BBB\nQ4RCV:hello`,
    `${id} delivered Q2BBB\n: hello`,
    `${id} delivered Q2BBB\nto Q4RCV: hello`,
    `${id} delivered Q2BBB\nQ4RCV-1555: hello`,
    `${id} delivered Q2BBB more\nQ4RCV: hello`,
    `${id} delivered Q2BBB \nQ4RCV: hello`,
    `${id} gone Q2BBB\nQ4RCV: hello`,
    `${id}  Q2BBB\nQ4RCV: hello`,
    `Q2BBB delivered Q2BBB\nQ4RCV: hello`,
    ` delivered Q2BBB\nQ4RCV: hello`,
    `${id} delivered \nQ4RCV: hello`,
    `${id} delivered Q2BBB,Q3MID,Q1OWN,Q5END\nQ4RCV: hello`,
    `${id} delivered Q2BBB,mum@home\nQ4RCV: hello`,
    `${id} delivered Q2BBB,\nQ4RCV: hello`,
  ])('%j is none', (text) => expect(parseReport(text)).toBeUndefined())
})

function start() {
  const bench = ledgerBench({ letters: letterOptions })
  const ends: Endings = bench.make().endings
  const told = () => bench.messages.map(({ to, text }) => `${to}: ${text}`)
  return { bench, ends, told }
}

/** An entry that is under way, or lies here. */
function put(bench: Bench, change: Partial<HillRow> = {}): HillRow {
  const { entryId = id } = change
  bench.durably(() =>
    bench.store.hills.insert({
      ...{ entryId, kind: 'message', from: 'Q3SND', to: 'Q4RCV', subject: '', text: 'hello' },
      ...{ writtenWallMs: 0, expiresWallMs: 0, expiryTrusted: true, trace: '', state: 'here' },
      ...{ cameFrom: undefined, peer: undefined, outcome: undefined, local: undefined, ...change },
    }),
  )
  return bench.store.hills.find(entryId)!
}

const leave = (bench: Bench, questionId = 'q1'): void =>
  bench.durably(
    () =>
      void bench.store.mailbox.insert({
        ...{ questionId, from: 'Q3SND', to: 'Q4RCV', text: 'hello', leftWallMs: 0 },
        ...{ expiresWallMs: 0, expiryTrusted: true },
      }),
  )

describe('the end of an entry', () => {
  it.each<[Outcome, string, string, string, string]>([
    ['delivered', 'delivered', 'was delivered', 'delivered', 'was delivered'],
    [
      ...(['refused', 'given up', 'was refused by its radio', 'refused'] as const),
      'was refused by its radio',
    ],
    [
      ...(['expired', 'given up', 'was not collected in time', 'expired'] as const),
      'was not collected in time',
    ],
    ['withdrawn', 'given up', 'was withdrawn', 'withdrawn', 'was withdrawn'],
    ['unknown', 'given up', 'is perhaps lost', 'refused', 'is perhaps lost'],
    ['replaced', 'given up', 'was replaced', 'refused', 'is perhaps lost'],
  ])('%s of a message that began here: its sender, mailbox and log say so', (outcome, ...words) => {
    const [kind, reason, state, said] = words
    const { bench, ends, told } = start()
    leave(bench)
    const row = put(bench, { local: 'q1' })
    bench.durably(() => ends.end(row, outcome))
    expect(bench.rows()).toEqual([{ ...row, state: 'ended', outcome }])
    const mail = bench.store.mailbox.findByQuestion('q1')
    expect(mail).toMatchObject({ state, reason, endedWallMs: bench.clock.wallMs() })
    expect(bench.notes).toEqual([
      { kind, text: 'from Q3SND: hello', station: 'Q4RCV', reference: id, reason },
    ])
    expect(told()).toEqual([])
    ends.flush()
    expect(told()).toEqual([`Q3SND: Your message to Q4RCV ${said}: hello`])
    ends.flush()
    expect(bench.messages).toHaveLength(1)
  })

  it('is told as any answer is: numbered, on the radio of who gets it, and not for ever', () => {
    const { bench, ends } = start()
    const row = put(bench, { from: 'Q3SND-7', text: `one\ntwo ${'x'.repeat(90)}` })
    bench.durably(() => ends.end(row, 'delivered'))
    ends.flush()
    const { keepMs } = bench.parts.nodeOptions.mailbox
    const wallMs = bench.clock.wallMs()
    const [message] = bench.store.messages.open()
    expect(message).toMatchObject({
      ...{ kind: 'report', to: 'Q3SND-7', number: '1', radio: 7, state: 'waiting' },
      ...{ replyTo: undefined, questionId: undefined, mailboxId: undefined, attempts: 0 },
      ...{ createdWallMs: wallMs, notAfterWallMs: wallMs + keepMs },
    })
    expect(message?.text).toMatch(/^Your message to Q4RCV was delivered: one two x+\.\.$/)
    expect(message?.text).toHaveLength(67)
  })

  it.each(['mum@home', 'HUT', 'Q3SNDDD'])('is told nobody on the air who is %s', (from) => {
    const { bench, ends } = start()
    const row = { ...put(bench), from }
    bench.durably(() => ends.end(row, 'delivered'))
    ends.flush()
    expect(bench.messages).toEqual([])
    expect(bench.store.messages.open()).toEqual([])
  })

  it('is forgotten with the transaction that failed', () => {
    const { bench, ends } = start()
    ends.tellSender({ from: 'Q3SND', to: 'Q4RCV', text: 'hello' }, 'delivered')
    ends.forget()
    ends.flush()
    expect(bench.messages).toEqual([])
  })

  it('of what came from another node goes back to that one as a report', () => {
    const { bench, ends, told } = start()
    const text = `one\ntwo ${'x'.repeat(90)}`
    const row = put(bench, { trace: 'Q2BBB,Q3MID', cameFrom: 'Q3MID', text })
    bench.state.isTrusted = false
    bench.durably(() => ends.end(row, 'delivered'))
    ends.flush()
    expect(told()).toEqual([])
    const wallMs = bench.clock.wallMs()
    expect(bench.rows('report')).toEqual([
      {
        ...{ id: 2, entryId: expect.stringMatching(/^Q1OWN\.[A-Z2-7]{10}$/), kind: 'report' },
        ...{ from: own, to: 'Q3SND', subject: '', writtenWallMs: wallMs, local: undefined },
        text: `${id} delivered Q2BBB,Q3MID\nQ4RCV: one two ${'x'.repeat(52)}`,
        ...{ expiresWallMs: wallMs + 14 * dayMs, expiryTrusted: false, trace: '' },
        ...{ cameFrom: undefined, state: 'here', peer: 'Q3MID', outcome: undefined },
      },
    ])
    expect(parseReport(bench.rows('report')[0]!.text)).toBeDefined()
  })

  it('has another report for another end, and the same for the same', () => {
    const { bench, ends } = start()
    const row = put(bench, { trace: peer, cameFrom: peer })
    for (const outcome of ['unknown', 'unknown', 'delivered'] as const)
      bench.durably(() => ends.end(row, outcome))
    expect(bench.rows('report').map(({ text }) => text.split(' ')[1])).toEqual([
      ...['unknown', 'delivered'],
    ])
  })

  it('of what came, nobody knows from whom, is told nobody', () => {
    const { bench, ends } = start()
    const row = put(bench, { trace: peer })
    bench.durably(() => ends.end(row, 'delivered'))
    ends.flush()
    expect(bench.rows('report')).toEqual([])
    expect(bench.messages).toEqual([])
  })

  it('of a letter takes it out of its place', () => {
    const { bench, ends, told } = start()
    const letter = { from: 'Q3SND', to: 'Q4RCV', subject: 'a', text: 'b', leftWallMs: 0 }
    bench.durably(
      () => void bench.store.letters.insert({ ...letter, expiresWallMs: 0, expiryTrusted: true }),
    )
    leave(bench, '1')
    const away = put(bench, { kind: 'letter', entryId: `${own}.AAAAAAAAAA` })
    bench.durably(() => ends.end(away, 'delivered'))
    expect(bench.store.letters.count).toBe(1)
    const row = put(bench, { kind: 'letter', local: '1' })
    bench.durably(() => ends.end(row, 'expired'))
    expect(bench.store.letters.count).toBe(0)
    expect(bench.store.mailbox.findByQuestion('1')?.state).toBe('waiting')
    ends.flush()
    expect(told()).toHaveLength(2)
  })

  it('of what goes to everybody is told nobody', () => {
    const { bench, ends } = start()
    leave(bench, 'q1')
    const row = put(bench, { kind: 'notice', to: '*', local: 'q1' })
    bench.durably(() => ends.end(row, 'expired'))
    ends.flush()
    expect(bench.rows()).toEqual([{ ...row, state: 'ended', outcome: 'expired' }])
    expect(bench.notes).toEqual([])
    expect(bench.messages).toEqual([])
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('waiting')
  })

  it('of a message that nobody has here any more ends what it lay in alone', () => {
    const { bench, ends } = start()
    leave(bench, 'q1')
    bench.durably(() => ends.end(put(bench, { entryId: `${own}.AAAAAAAAAA` }), 'expired'))
    bench.durably(() => ends.end(put(bench, { local: 'q9' }), 'expired'))
    expect(bench.store.mailbox.findByQuestion('q1')?.state).toBe('waiting')
  })
})

describe('a mailbox entry', () => {
  const ended = (before: string, outcome: Outcome) => {
    const { bench, ends } = start()
    leave(bench)
    const { mailbox } = bench.store
    bench.durably(() => {
      if (before === 'sending') mailbox.setSending(1, '7', 'Q4RCV')
      else if (before === 'passed on') mailbox.setPassedOn(1)
      else if (before === 'lost') mailbox.end(1, 'refused', 5, 'is perhaps lost')
      else if (before !== 'waiting') mailbox.end(1, before as 'delivered', 5)
      if (before !== 'waiting') bench.clock.advanceBy(minuteMs)
      ends.endMail(mailbox.find(1)!, outcome)
    })
    const { state, reason } = mailbox.find(1)!
    return `${state} ${reason}`
  }

  it.each(['waiting', 'sending', 'passed on'])('that is %s ends', (before) => {
    expect(ended(before, 'delivered')).toBe('delivered was delivered')
  })

  it('that has ended stays as it is', () => {
    expect(ended('delivered', 'expired')).toBe('delivered undefined')
    expect(ended('refused', 'delivered')).toBe('refused undefined')
    expect(ended('expired', 'delivered')).toBe('expired undefined')
  })

  it('that was given up as perhaps lost may be told of after all', () => {
    expect(ended('lost', 'delivered')).toBe('delivered was delivered')
  })
})
