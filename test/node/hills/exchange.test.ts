import { describe, expect, it } from 'vitest'
import type { Entry } from '../../../src/node/hills/entry.js'
import { type Book, type Exchange, exchange } from '../../../src/node/hills/exchange.js'
import { seededRandom } from '../../../src/runtime/random.js'

/** A database that takes and gives what a test says, and notes what it was told. */
function bookOf(given: readonly Entry[] = []): Book & { readonly log: string[] } {
  const log: string[] = []
  let waiting = [...given]
  const note = (text: string): true => {
    log.push(text)
    return true
  }
  const gone = (id: string): true => {
    waiting = waiting.filter((one) => one.id !== id)
    return true
  }
  return {
    log,
    meeting: () => ({ epoch: 'aaaaaaaa', count: 4, confirmed: 4 }),
    meet: (count) => note(`meet ${count}`),
    confirm: (count) => note(`confirm ${count}`),
    offers: () =>
      waiting.map(({ id, kind, text, to }) => ({ id, kind, to, octets: Buffer.byteLength(text) })),
    judge: () => ({ type: 'want' }),
    begin: (id) => (note(`begin ${id}`) ? waiting.find((one) => one.id === id) : undefined),
    kept: (id) => gone(id) && note(`kept ${id}`),
    ended: (id, outcome) => gone(id) && note(`ended ${id} ${outcome}`),
    refused: (id, reason) => gone(id) && note(`refused ${id} ${reason}`),
    keep: ({ id, text, subject }) => (note(`keep ${id} ${subject}: ${text}`) ? 'kept' : undefined),
  }
}

const own = 'Q1AAA'
const peer = 'Q2BBB'
const entry = (id: string, text: string, more: Partial<Entry> = {}): Entry => ({
  ...{ id, kind: 'message', from: 'Q3SND', to: 'Q4RCV', subject: '', text, ageMin: 5 },
  ...{ lifeMin: 60, trace: [own], ...more },
})
const make = (name: string, other: string, book: Book, secret?: string): Exchange =>
  exchange({
    ...{ own: name, peer: other, nonce: (name === own ? 'a' : 'b').repeat(16), secret, book },
    roomOctets: () => 5000,
  })

/** Both ends until nobody says anything. @returns how they ended */
function meet(one: Exchange, other: Exchange, change: (line: string) => string = (line) => line) {
  const overs = ['', '']
  const queues = [[...one.begin().lines], [...other.begin().lines]]
  for (;;) {
    const at = queues.findIndex((queue) => queue.length > 0)
    if (at < 0) return overs
    const { lines, over } = [one, other][1 - at]!.take(change(queues[at]!.shift()!))
    queues[1 - at]!.push(...lines)
    if (over !== undefined) overs[1 - at] = over
  }
}

/** A session that stands, with its first turn ours: what the peer has said so far. */
function standing(book: Book): Exchange {
  const one = make(own, peer, book)
  one.begin()
  one.take(`hill 1 ${peer} bbbbbbbb 4 4 ${'b'.repeat(16)}`)
  one.take('session 5')
  return one
}

const id = 'Q2BBB.ABCDEFGHJK'
const text = 'x'.repeat(200)

describe('an exchange', () => {
  it.each([undefined, 'words that only two know'])(
    'hands over both ways, whole, secret %s',
    (secret) => {
      const long = `first\n\n  third\t${'ä'.repeat(250)}\nlast`.replace('\t', ' ')
      const letter = entry('Q1AAA.ABCDEFGHJK', long, { kind: 'letter', subject: 'walk' })
      const ours = bookOf([letter, entry('Q1AAA.ABCDEFGHJL', 'short')])
      const theirs = bookOf([entry(id, 'back', { trace: [peer] })])
      const ends = meet(make(own, peer, ours, secret), make(peer, own, theirs, secret))
      expect(ends).toEqual(['complete', 'complete'])
      expect(theirs.log).toContain(`keep ${letter.id} walk: ${long}`)
      expect(theirs.log).toContain('keep Q1AAA.ABCDEFGHJL : short')
      expect(ours.log).toEqual([
        ...['meet 5', 'confirm 5', `begin ${letter.id}`, 'begin Q1AAA.ABCDEFGHJL'],
        ...[`kept ${letter.id}`, 'kept Q1AAA.ABCDEFGHJL', `keep ${id} : back`],
      ])
    },
  )

  it('ends where a seal is wrong, and nothing more is taken', () => {
    const theirs = bookOf()
    const ours = bookOf([entry('Q1AAA.ABCDEFGHJK', 'pay me')])
    const forged = (line: string): string => line.replace('pay me', 'pay him')
    const ends = meet(make(own, peer, ours, 'secret'), make(peer, own, theirs, 'secret'), forged)
    expect(ends[1]).toBe('stopped: seal')
    expect(theirs.log.some((line) => line.startsWith('keep'))).toBe(false)
    expect(ours.log.some((line) => line.startsWith('kept'))).toBe(false)
  })

  it('notes that an entry is under way before the first of its lines is there to be sent', () => {
    const book = bookOf([entry('Q1AAA.ABCDEFGHJK', 'x')])
    const one = standing(book)
    one.take('want Q1AAA.ABCDEFGHJK')
    expect(book.log.at(-1)).toBe('confirm 5')
    const { lines } = one.take('answered')
    expect(book.log.at(-1)).toBe('begin Q1AAA.ABCDEFGHJK')
    expect(lines[0]).toMatch(/^entry /)
  })

  it.each([
    ['another call', ['hill 1 Q9BAD bbbbbbbb 4 4 bbbbbbbbbbbbbbbb'], 'call'],
    ['another form', ['hill 2 Q2BBB bbbbbbbb 4 4 bbbbbbbbbbbbbbbb'], 'line'],
    ['a person', ['help'], 'line'],
    ['another session', ['hill 1 Q2BBB bbbbbbbb 4 4 bbbbbbbbbbbbbbbb', 'session 6'], 'session'],
    ['no session', ['hill 1 Q2BBB bbbbbbbb 4 4 bbbbbbbbbbbbbbbb', 'nothing'], 'order'],
  ])('refuses %s', (_, lines, reason) => {
    const one = make(own, peer, bookOf())
    one.begin()
    const last = lines.map((line) => one.take(line)).at(-1)!
    expect(last.over).toBe(`stopped: ${reason}`)
    expect(one.take('nothing').lines).toEqual([])
  })

  const offer = `offer ${id} message 200 Q4RCV`
  const head = `entry ${id} message Q3SND Q4RCV 5 60 Q2BBB`
  it.each([
    ['an offer twice', [offer, offer], 'offers'],
    ['an entry that was not offered', [offer, 'asked', head.replace('HJK', 'HJL')], 'entry'],
    ['another kind than offered', [offer, 'asked', head.replace(' message', ' letter')], 'entry'],
    ['another receiver', [offer, 'asked', head.replace('Q4RCV', 'Q5RCV')], 'entry'],
    ['an entry twice', [offer, 'asked', head, 't x', '.', head], 'entry'],
    ['more text than offered', [offer, 'asked', head, `t ${text}`, 't y'], 'text'],
    ['more of a line than offered', [offer, 'asked', head, `t ${text}`, 'c y'], 'text'],
    ['no text', [offer, 'asked', head, '.'], 'text'],
    ['a line that goes on before it begins', [offer, 'asked', head, 'c x'], 'text'],
    ['a subject behind the text', [offer, 'asked', head, 't x', 's y'], 'text'],
    ['the end within an entry', [offer, 'asked', head, 't x', 'given'], 'text'],
    ['kept, which was not asked', [offer, 'asked', `kept ${id}`], 'order'],
    [
      'seventeen offers',
      Array.from({ length: 17 }, (_, at) => offer.replace('HJK', `H${'ABCDEFGHIJKLMNOPQ'[at]}K`)),
      'offers',
    ],
  ])('stops at %s', (_, lines, reason) => {
    const book = bookOf()
    const one = standing(book)
    const last = lines.map((line) => one.take(line)).at(-1)!
    expect(last.over).toBe(`stopped: ${reason}`)
    expect(book.log.some((line) => line.startsWith('keep')) && reason !== 'entry').toBe(false)
  })

  it.each([
    ['an answer in another order', ['want Q1AAA.ABCDEFGHJL'], 'answers'],
    ['too few answers', ['want Q1AAA.ABCDEFGHJK', 'answered'], 'answers'],
    [
      'an answer too many',
      ['want Q1AAA.ABCDEFGHJK', 'want Q1AAA.ABCDEFGHJL', 'want Q1AAA.ABCDEFGHJL'],
      'answers',
    ],
    [
      'kept, which was not given',
      ['want Q1AAA.ABCDEFGHJK', 'have Q1AAA.ABCDEFGHJL', 'answered', 'kept Q1AAA.ABCDEFGHJL'],
      'answers',
    ],
    [
      'a turn before all is kept',
      ['want Q1AAA.ABCDEFGHJK', 'have Q1AAA.ABCDEFGHJL', 'answered', 'nothing'],
      'answers',
    ],
  ])('stops at %s', (_, lines, reason) => {
    const one = standing(bookOf([entry('Q1AAA.ABCDEFGHJK', 'x'), entry('Q1AAA.ABCDEFGHJL', 'y')]))
    expect(lines.map((line) => one.take(line)).at(-1)!.over).toBe(`stopped: ${reason}`)
  })

  it('refuses an entry whose last hand is not the peer, and goes on', () => {
    const book = bookOf()
    const one = standing(book)
    for (const line of [offer, 'asked', head.replace(/Q2BBB$/, 'Q2BBB,Q9BAD'), 't x', '.'])
      expect(one.take(line).over).toBeUndefined()
    expect(one.take('given').lines).toEqual([`refuse ${id} trace`, 'nothing'])
  })

  it('stops where the database takes nothing', () => {
    const full = { ...bookOf(), keep: () => undefined }
    const one = standing(full)
    const lines = [offer, 'asked', head, 't x', '.']
    expect(lines.map((line) => one.take(line)).at(-1)!.over).toBe('stopped: disk')
  })

  it('never throws, and always ends or goes on, whatever lines come', () => {
    const random = seededRandom(11)
    const known = [
      ...[offer, 'asked', head, 't x', '.', 'given', 'nothing', 'end', 'answered', 'c y', 's z'],
      ...[`want ${id}`, `kept ${id}`, `have ${id}`, `ended ${id} delivered`, `refuse ${id} full`],
      ...['stop disk', 'session 5', `hill 1 ${peer} bbbbbbbb 4 4 ${'b'.repeat(16)}`, ''],
    ]
    for (let run = 0; run < 3000; run++) {
      const one =
        random() < 0.8
          ? standing(bookOf([entry('Q1AAA.ABCDEFGHJK', 'x')]))
          : make(own, peer, bookOf())
      for (let line = 0; line < 12; line++) {
        const picked = known[Math.floor(random() * known.length)]!
        const at = Math.floor(random() * picked.length)
        const bent =
          random() < 0.3
            ? picked.slice(0, at) + String.fromCharCode(32 + random() * 300) + picked.slice(at + 1)
            : picked
        one.take(bent)
      }
    }
  })
})
