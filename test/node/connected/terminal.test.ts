import { describe, expect, it } from 'vitest'
import type { Letters } from '../../../src/node/connected/letters.js'
import { type TerminalParts, terminal } from '../../../src/node/connected/terminal.js'
import type { WaitingMessage } from '../../../src/services/service.js'
import type { Letter } from '../../../src/store/letters.js'
import { inEnglish } from '../../../src/words/air/all.js'

const letter = (change: Partial<Letter> = {}): Letter => ({
  ...{ id: 3, from: 'Q2B', to: 'Q1A', subject: 'Walk', text: 'grün\nbye', leftWallMs: 0 },
  ...{ expiresWallMs: 9, expiryTrusted: true, readWallMs: undefined, readBy: undefined },
  ...{ shown: false, ...change },
})

/** A person at a terminal: what is written waits until the test says that all was acknowledged. */
function typing(given: { readonly letters?: Letter[]; readonly messages?: WaitingMessage[] } = {}) {
  const written: string[] = []
  const log: string[] = []
  const at = {
    ...{ waitingOctets: 0, room: true, showing: true, removes: true },
    ...{ refusal: undefined as string | undefined, welcome: '' },
    ...{ letters: given.letters ?? [], messages: given.messages ?? [] },
  }
  const answers: {
    text: string
    done: (lines: string[] | 'collect') => void
    fail: (why: Error) => void
  }[] = []
  const letters = {
    octetsMax: 100,
    waitingFor: () => at.letters,
    find: (_, id) => at.letters.find((one) => one.id === id),
    receiverOf: (call) => (/^Q\d/.test(call) ? call : undefined),
    refusalOf: () => at.refusal,
    showing: () => at.showing,
    read: ({ id }, by) => void log.push(`letter ${id} read by ${by}`),
    remove({ id }, by) {
      log.push(`letter ${id} erased by ${by}`)
      return at.removes
    },
    leave: ({ from, to, subject, text }) => {
      log.push(`letter ${from} to ${to}, ${subject}: ${text}`)
      return { ok: true, id: 8 }
    },
  } satisfies Letters
  const parts: TerminalParts = {
    ...{ own: 'N0DE', letters, wording: inEnglish, wallMs: () => 120_000 },
    get welcome() {
      return at.welcome
    },
    messagesFor: () => at.messages,
    messagesShowing: () => at.showing,
    messagesRead: (call, messages) => log.push(`${messages.length} messages read by ${call}`),
    tellOfLetter: (from, to, octetCount) => log.push(`told ${to} of ${from}, ${octetCount}`),
    ask: (from, text) =>
      new Promise((done, fail) => answers.push({ text: `${from}: ${text}`, done, fail })),
    callForHelp: (text) => (text.startsWith('SOS') ? 'Help is called.' : undefined),
    onAsked: (text) => log.push(`asked ${text}`),
    onAnswered: (text) => log.push(`answered ${text}`),
    onFault: (text, reason) => log.push(`fault ${text}: ${reason}`),
  }
  const session = terminal(parts, {
    call: 'Q1A',
    write(octets) {
      if (at.room) written.push(new TextDecoder().decode(octets))
      return at.room
    },
    get waitingOctets() {
      return at.waitingOctets
    },
    setReady: (ready) => void log.push(`ready ${ready}`),
    close: () => void log.push('closed'),
  })
  return {
    ...{ session, at, answers, log },
    type: (text: string) => session.receive(new TextEncoder().encode(text), 0xf0),
    /** lines since the last time */
    said: () => written.splice(0).join('').split('\r').slice(0, -1),
    logged: () => log.splice(0),
    settle: () => new Promise<void>((resolve) => setImmediate(resolve)),
  }
}
const greeting = 'This is N0DE. help: what there is; bye: leave.'
const how = 'read NUMBER, erase NUMBER, letter CALL SUBJECT'

describe('a terminal', () => {
  it('greets, and says what is new', () => {
    const empty = typing()
    empty.session.begin()
    expect(empty.said()).toEqual([greeting, 'N0DE>'])
    const full = typing({
      letters: [letter(), letter({ id: 4, readWallMs: 1 })],
      messages: [{ id: 'B1', from: 'Q2B', text: 'x', leftWallMs: 0 }],
    })
    full.at.welcome = 'Welcome \u001b[31m'
    full.session.begin()
    expect(full.said()).toEqual([
      ...['Welcome %1B[31m', greeting, 'New letters for you: 1. letters: the list'],
      ...['Messages for you: 1. collect: read them', 'N0DE>'],
    ])
    const read = typing({ letters: [letter({ readWallMs: 1 })] })
    read.session.begin()
    expect(read.said()).toEqual([greeting, 'N0DE>'])
  })

  it('answers a line by the services, and the next one behind it', async () => {
    const one = typing()
    one.type(' echo  a \recho b\r')
    expect(one.answers.map(({ text }) => text)).toEqual(['Q1A: echo  a'])
    one.answers[0]!.done(['1', '2'])
    await one.settle()
    expect(one.said()).toEqual(['1', '2', 'N0DE>'])
    expect(one.answers.map(({ text }) => text)).toEqual(['Q1A: echo  a', 'Q1A: echo b'])
    expect(one.logged()).toEqual(['asked echo  a', 'answered 1 / 2', 'asked echo b'])
  })

  it('says that a service failed, tells why, and goes on', async () => {
    const one = typing()
    one.type('echo a\r\r')
    one.answers[0]!.fail(new Error('torn'))
    await one.settle()
    const sorry = 'Sorry, that does not work here just now.'
    expect(one.said()).toEqual([sorry, 'N0DE>', 'N0DE>'])
    expect(one.logged()).toEqual(['asked echo a', 'fault echo a: torn', `answered ${sorry}`])
  })

  it.each(['bye', 'QUIT', 'exit now'])('ends by %s, and takes nothing after it', (word) => {
    const one = typing()
    one.type(`${word}\recho a\r`)
    one.type('echo b\r')
    one.session.drained()
    expect(one.said()).toEqual(['73.'])
    expect(one.logged()).toEqual([`asked ${word}`, 'answered 73.', 'closed'])
    one.session.reset()
    expect(one.said()).toEqual([])
  })

  it('says that a line was too long, within a letter without a prompt', () => {
    const one = typing()
    const left = 'Line left out: longer than 512 characters.'
    one.type(`${'x'.repeat(513)}\r`)
    expect(one.said()).toEqual([left, 'N0DE>'])
    one.type(`letter Q2B Walk\r${'x'.repeat(513)}\r`)
    expect(one.said().slice(1)).toEqual([left])
  })

  it('marks a call for help, also within a letter, which goes on', () => {
    const one = typing()
    one.type('SOS fell\r')
    expect(one.said()).toEqual(['Help is called.', 'N0DE>'])
    expect(one.logged()).toEqual(['asked SOS fell', 'answered Help is called.'])
    one.type('letter Q2B Walk\rSOS broken leg\r.\r')
    expect(one.said()).toEqual([
      'Letter for Q2B. Text, then a line with only a dot. /drop drops it.',
      ...['Help is called.', 'Letter 8 for Q2B is kept: 15 characters.', 'N0DE>'],
    ])
    expect(one.logged()).toEqual([
      'asked letter Q2B Walk',
      ...['letter Q1A to Q2B, Walk: SOS broken leg', 'told Q2B of Q1A, 15'],
    ])
  })

  it('says so where too much waits, and logs that in place of the answer', async () => {
    const one = typing()
    one.type('echo a\r')
    one.at.room = false
    one.answers[0]!.done(['long'])
    await one.settle()
    expect(one.logged()).toEqual([
      'asked echo a',
      'answered Too much waits for you: read that first.',
    ])
  })
})

describe('what is typed ahead', () => {
  it('has the station wait from 40 lines on, until ten are left', async () => {
    const one = typing()
    one.type('echo\r'.repeat(40))
    expect(one.logged()).toEqual(['asked echo'])
    one.type('echo\r')
    expect(one.logged()).toEqual(['ready false'])
    one.type('echo\r')
    for (let n = 0; n < 30; n++) {
      one.answers.at(-1)!.done(['x'])
      await one.settle()
    }
    expect(one.log.filter((line) => line.startsWith('ready'))).toEqual([])
    one.answers.at(-1)!.done(['x'])
    await one.settle()
    expect(one.log.filter((line) => line.startsWith('ready'))).toEqual(['ready true'])
  })

  it('is left out beyond 80 lines, which is said', () => {
    const one = typing()
    one.type('echo\r'.repeat(80))
    expect(one.said()).toEqual([])
    // one is being answered
    one.type('echo\recho\r')
    expect(one.said()).toEqual(['Too fast: lines were left out.'])
    one.type('echo\r')
    expect(one.said()).toEqual(['Too fast: lines were left out.'])
  })

  it('waits until the station has taken what it got, but for the lines of a letter', () => {
    const one = typing()
    one.at.waitingOctets = 4_001
    one.type('\r')
    expect(one.said()).toEqual([])
    one.at.waitingOctets = 4_000
    one.session.drained()
    expect(one.said()).toEqual(['N0DE>'])
    one.type('letter Q2B\r')
    one.at.waitingOctets = 9_000
    one.type('Walk\r')
    expect(one.said()).toEqual([
      'Letter for Q2B. Subject?',
      'Text, then a line with only a dot. /drop drops it.',
    ])
  })

  it('before the link began anew is forgotten, with its answer, its letter and its pause', async () => {
    const one = typing({ letters: [letter()] })
    one.type('read 3\rhalf')
    one.type(' line\r')
    one.type('echo\r'.repeat(50))
    one.session.reset()
    expect(one.said().slice(-3)).toEqual([
      greeting,
      'New letters for you: 1. letters: the list',
      'N0DE>',
    ])
    one.answers[0]!.done(['late'])
    await one.settle()
    one.session.drained()
    expect(one.said()).toEqual([])
    expect(one.log.filter((line) => /read by|late|ready true/.test(line))).toEqual([])
    one.type('letter Q2B Walk\r')
    one.session.reset()
    one.said()
    one.type('\r')
    expect(one.said()).toEqual(['N0DE>'])
    one.type('echo\r'.repeat(41))
    expect(one.log.filter((line) => line === 'ready false')).toHaveLength(2)
  })

  it('by one who is gone is answered to nobody', async () => {
    const one = typing()
    one.type('echo a\recho b\r')
    one.session.ended()
    one.answers[0]!.done(['late'])
    await one.settle()
    one.type('\r')
    expect([one.said(), one.answers.length]).toEqual([[], 1])
  })
})

describe('letters', () => {
  it('are listed with age and size, new ones marked', () => {
    const none = typing()
    none.type('Letters\r')
    expect(none.said()).toEqual(['No letters for you. letter CALL SUBJECT: write one', 'N0DE>'])
    const one = typing({ letters: [letter(), letter({ id: 4, readWallMs: 1 })] })
    one.type('letters\r')
    expect(one.said()).toEqual([
      '3 from Q2B, 2min ago, 9 characters, new: Walk',
      '4 from Q2B, 2min ago, 9 characters: Walk',
      ...[how, 'N0DE>'],
    ])
  })

  it('are read once all was acknowledged, and the log has the title only', () => {
    const one = typing({ letters: [letter()] })
    one.type('read 3\r')
    const title = '3 from Q2B, 2min ago, 9 characters, new: Walk'
    expect(one.said()).toEqual([title, 'grün', 'bye', 'End of letter 3.', 'N0DE>'])
    expect(one.logged()).toEqual(['asked read 3', `answered ${title}`])
    one.session.drained()
    expect(one.logged()).toEqual(['letter 3 read by Q1A'])
    one.session.drained()
    expect(one.logged()).toEqual([])
  })

  it('that were not written, or cannot be noted as shown, are not read', () => {
    const one = typing({ letters: [letter()] })
    one.at.showing = false
    one.type('read 3\r')
    expect(one.said()).toEqual([
      ...['Letters do not work here just now. Tell the operator.', 'N0DE>'],
    ])
    one.at.showing = true
    one.at.room = false
    one.type('read 3\r')
    one.session.drained()
    expect(one.log.filter((line) => line.includes('read by'))).toEqual([])
  })

  it.each([
    ['read', 'Which? letters: the list'],
    ['read 9', '9? letters: the list'],
    ['read 3.5', '3.5? letters: the list'],
    ['erase {aaaaaaaaaaaaaaaaaaaaaaaaa}', '(aaaaaaaaaaaaaaaaaaa? letters: the list'],
  ])('are none by %s', (line, words) => {
    const one = typing({ letters: [letter()] })
    one.type(`${line}\r`)
    expect(one.said()).toEqual([words, 'N0DE>'])
  })

  it('are erased, or not', () => {
    const one = typing({ letters: [letter()] })
    one.type('erase 3\r')
    one.at.removes = false
    one.type('erase 3\r')
    expect(one.said()).toEqual([
      ...['Letter 3 is erased.', 'N0DE>'],
      ...['Letters do not work here just now. Tell the operator.', 'N0DE>'],
    ])
    expect(one.log.filter((line) => line.includes('erased by'))).toEqual(
      Array(2).fill('letter 3 erased by Q1A'),
    )
  })

  it('are begun for a station that can be written to, with a subject of several words or none', () => {
    const one = typing()
    one.type('letter\rletter nobody\r')
    expect(one.said()).toEqual([
      ...['For whom? letter CALL SUBJECT', 'N0DE>'],
      ...['No station of that call can be written to.', 'N0DE>'],
    ])
    one.at.refusal = 'No room.'
    one.type('letter q2b\r')
    expect(one.said()).toEqual(['No room.', 'N0DE>'])
    one.at.refusal = undefined
    one.type('letter q2b a  walk\r  at noon \r.\r')
    expect(one.log.filter((line) => line.startsWith('letter Q1A'))).toEqual([
      'letter Q1A to Q2B, a walk: at noon',
    ])
    one.said()
    one.type('\r')
    expect(one.said()).toEqual(['N0DE>'])
  })
})

describe('messages that wait', () => {
  const messages: WaitingMessage[] = [
    { id: 'B1', from: 'Q2B', text: 'one', leftWallMs: 0 },
    { id: 'B2', from: 'Q3C', text: 'two', leftWallMs: 60_000, shown: true },
  ]

  it('are read once they were acknowledged', () => {
    const one = typing({ messages })
    one.type('collect\r')
    expect(one.said()).toEqual([
      ...['From Q2B, 2min ago: one', 'From Q3C, 1min ago, perhaps read before: two', 'N0DE>'],
    ])
    one.logged()
    one.session.drained()
    expect(one.logged()).toEqual(['2 messages read by Q1A'])
  })

  it('are read by who asks for them in its own words', async () => {
    const one = typing({ messages })
    one.type('anything for me?\recho a\r')
    one.answers[0]!.done('collect')
    await one.settle()
    const lines = ['From Q2B, 2min ago: one', 'From Q3C, 1min ago, perhaps read before: two']
    expect(one.said()).toEqual([...lines, 'N0DE>'])
    const logged = ['asked anything for me?', `answered ${lines.join(' / ')}`, 'asked echo a']
    expect(one.logged()).toEqual(logged)
    one.session.drained()
    expect(one.logged()).toEqual(['2 messages read by Q1A'])
  })

  it('are none, or cannot be shown, or found no room', () => {
    const none = typing()
    none.type('collect\r')
    expect(none.said()).toEqual([`${inEnglish.say('noMessages')}.`, 'N0DE>'])
    const one = typing({ messages })
    one.at.showing = false
    one.type('collect\r')
    expect(one.said()).toEqual([inEnglish.say('mailboxOutOfOrder'), 'N0DE>'])
    one.at.showing = true
    one.at.room = false
    one.type('collect\r')
    one.session.drained()
    expect(one.log.filter((line) => line.includes('read by'))).toEqual([])
  })
})
