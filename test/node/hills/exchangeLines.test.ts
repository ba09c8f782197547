import { describe, expect, it } from 'vitest'
import type { Entry } from '../../../src/node/hills/entry.js'
import { type Book, exchange, type Judgement, type Step } from '../../../src/node/hills/exchange.js'

const own = 'Q1AAA'
const peer = 'Q2BBB'
const idOf = (letter: string, node = peer): string => `${node}.ABCDEFGHJ${letter}`
const entry = (letter: string, change: Partial<Entry> = {}): Entry => ({
  ...{ id: idOf(letter, own), kind: 'message', from: 'Q3SND', to: 'Q4RCV', subject: '' },
  ...{ text: 'hello', ageMin: 5, lifeMin: 60, trace: [own], ...change },
})
const hill = `hill 1 ${peer} bbbbbbbb 4 3 ${'b'.repeat(16)}`

interface Change {
  readonly book?: Partial<Book>
  readonly ours?: readonly Entry[]
  readonly roomOctets?: () => number
  readonly call?: string
  readonly peer?: string
}

/** One end, whose database notes what it is told. */
function start({ book = {}, ours = [], roomOctets = () => 5000, ...calls }: Change = {}) {
  const log: string[] = []
  const note = (text: string): true => {
    log.push(text)
    return true
  }
  const one = exchange({
    ...{ own: calls.call ?? own, peer: calls.peer ?? peer, nonce: 'a'.repeat(16) },
    ...{ secret: undefined, roomOctets },
    book: {
      meeting: () => ({ epoch: 'aaaaaaaa', count: 4, confirmed: 2 }),
      meet: (count) => note(`meet ${count}`),
      confirm: (count, { epoch, count: theirs, confirmed }) =>
        note(`confirm ${count} ${epoch} ${theirs} ${confirmed}`),
      offers: (octetsMax) => {
        log.push(`offers ${octetsMax}`)
        return ours.map(({ id, kind, to, text }) => ({ id, kind, to, octets: text.length }))
      },
      judge: ({ id, kind, octets, to }) => {
        log.push(`judge ${id} ${kind} ${octets} ${to}`)
        return { type: 'want' }
      },
      begin: (id) => (note(`begin ${id}`) ? ours.find((given) => given.id === id) : undefined),
      kept: (id) => note(`kept ${id}`),
      ended: (id, outcome) => note(`ended ${id} ${outcome}`),
      refused: (id, reason) => note(`refused ${id} ${reason}`),
      keep: ({ id, text }) => (note(`keep ${id} ${text}`) ? 'kept' : undefined),
      ...book,
    },
  })
  const begun = one.begin()
  /** @returns what the last of these lines led to */
  const take = (...lines: readonly string[]): Step =>
    lines.map((line) => one.take(line)).at(-1) ?? begun
  return { one, begun, take, log }
}

/** One that stands, and has had its first turn. */
function standing(change: Change = {}) {
  const made = start(change)
  const first = made.take(hill, 'session 5')
  made.log.length = 0
  return { ...made, first }
}

const stopped = (reason: string): Step => ({
  lines: [`stop ${reason}`],
  over: `stopped: ${reason}`,
})
const on = (...lines: readonly string[]): Step => ({ lines, over: undefined })

describe('the beginning of an exchange', () => {
  it('says who it is, and agrees on the number of the session', () => {
    const { begun, take, log } = start()
    expect(begun).toEqual(on(`hill 1 ${own} aaaaaaaa 4 2 ${'a'.repeat(16)}`))
    expect(take(hill)).toEqual(on('session 5'))
    expect(log).toEqual(['meet 5'])
    expect(take('session 5')).toEqual(on('nothing'))
    expect(log).toEqual(['meet 5', 'confirm 5 bbbbbbbb 4 3', 'offers 5000'])
  })

  it.each([
    [0, 5],
    [9, 10],
  ])('takes the larger count and one: theirs %d, agreed %d', (theirs, agreed) => {
    expect(start().take(hill.replace(' 4 ', ` ${theirs} `))).toEqual(on(`session ${agreed}`))
  })

  it('leaves the first turn to whose call sorts first', () => {
    const { take } = start({ call: peer, peer: own })
    expect(take(hill.replace(peer, own), 'session 5')).toEqual(on())
    expect(take('nothing')).toEqual({ lines: ['end'], over: 'complete' })
  })

  it.each([
    ['nothing', []],
    ['given', []],
    ['session 5', []],
    ['given', [hill]],
    ['end', [hill]],
    [hill, [hill]],
    ['session 5', [hill, 'session 5']],
    [hill, [hill, 'session 5']],
    ['given', [hill, 'session 5']],
    ['asked', [hill, 'session 5']],
    ['.', [hill, 'session 5']],
  ])('%s is out of its order', (line, before) => {
    const { take, log } = start()
    expect(take(...before, line)).toEqual(stopped('order'))
    const known = log.length
    expect(take('nothing')).toEqual({ lines: [] })
    expect(log).toHaveLength(known)
  })

  it('is over when the other stops it, with nothing more to say', () => {
    expect(start().take('stop disk')).toEqual({ lines: [], over: 'stopped by the other: disk' })
    expect(standing().take('stop turns')).toEqual({
      ...{ lines: [], over: 'stopped by the other: turns' },
    })
  })
})

describe('what the database does not take', () => {
  const no = (): boolean => false
  const ours = [entry('A')]
  const offered = [hill, 'session 5']
  const given = [...offered, `want ${ours[0]!.id}`, 'answered']

  it.each<[string, Partial<Book>, readonly string[]]>([
    ['a session', { meet: no }, [hill]],
    ['that the other has it, too', { confirm: no }, offered],
    ['that the other has an entry', { kept: no }, [...offered, `have ${ours[0]!.id}`]],
    ['that it ended there', { ended: no }, [...offered, `ended ${ours[0]!.id} expired`]],
    ['that it is refused', { refused: no }, [...offered, `refuse ${ours[0]!.id} full`]],
    ['that it is kept', { kept: no }, [...given, `kept ${ours[0]!.id}`]],
    ['that it is refused in the end', { refused: no }, [...given, `refuse ${ours[0]!.id} full`]],
  ])('stops the session: %s', (_, book, lines) => {
    const { one, take } = start({ book, ours })
    expect(take(...lines)).toEqual(stopped('disk'))
    expect(one.moved).toEqual({ given: 0, taken: 0 })
  })
})

describe('our turn', () => {
  const [a, b] = [entry('A'), entry('B', { subject: 'walk', kind: 'letter', text: 'x\ny' })]

  it('offers, gives what is wanted, and hears what is kept', () => {
    const { one, first, take, log } = standing({ ours: [a, b] })
    expect(first).toEqual(
      on(`offer ${a.id} message 5 Q4RCV`, `offer ${b.id} letter 3 Q4RCV`, 'asked'),
    )
    expect(take(`want ${a.id}`)).toEqual(on())
    expect(take(`want ${b.id}`)).toEqual(on())
    expect(log).toEqual([])
    expect(take('answered')).toEqual(
      on(
        ...[`entry ${a.id} message Q3SND Q4RCV 5 60 ${own}`, 't hello', '.'],
        ...[`entry ${b.id} letter Q3SND Q4RCV 5 60 ${own}`, 's walk', 't x', 't y', '.', 'given'],
      ),
    )
    expect(take(`refuse ${a.id} full`, `kept ${b.id}`)).toEqual(on())
    expect(log).toEqual([
      ...[`begin ${a.id}`, `begin ${b.id}`, `refused ${a.id} full`, `kept ${b.id}`],
    ])
    expect(one.moved).toEqual({ given: 1, taken: 0 })
    expect(take('end')).toEqual({ lines: [], over: 'complete' })
  })

  it('gives nothing of what the other has, that has ended there, or that it refuses', () => {
    const ours = [a, b, entry('C')]
    const { one, take, log } = standing({ ours })
    take(`have ${a.id}`, `ended ${b.id} delivered`, `refuse ${ours[2]!.id} kind`)
    expect(log).toEqual([
      ...[`kept ${a.id}`, `ended ${b.id} delivered`, `refused ${ours[2]!.id} kind`],
    ])
    expect(take('answered')).toEqual(on())
    expect(one.moved.given).toBe(0)
    expect(take('end').over).toBe('complete')
  })

  it('leaves out what is not to go any more', () => {
    const { take } = standing({
      ours: [a, b],
      book: { begin: (id) => (id === b.id ? b : undefined) },
    })
    const { lines } = take(`want ${a.id}`, `want ${b.id}`, 'answered')
    expect(lines.filter((line) => line.startsWith('entry '))).toHaveLength(1)
    expect(take(`kept ${a.id}`)).toEqual(stopped('answers'))
  })

  it('goes on with the next, whatever was left from the one before', () => {
    const { take } = standing({ ours: [a] })
    take(`want ${a.id}`, 'answered', `kept ${a.id}`)
    const { lines } = take('nothing')
    expect(lines).toEqual([`offer ${a.id} message 5 Q4RCV`, 'asked'])
    take(`have ${a.id}`)
    expect(take('answered')).toEqual(on())
  })

  it.each([`kept ${a.id}`, 'nothing', 'asked', 't x'])('%s is no answer to an offer', (line) => {
    expect(standing({ ours: [a] }).take(line)).toEqual(stopped('answers'))
  })

  it('offers sixteen and no more', () => {
    const ours = Array.from({ length: 17 }, (_, at) => entry('ABCDEFGHIJKLMNOPQ'[at]!))
    const { first } = standing({ ours })
    expect(first.lines).toHaveLength(17)
    expect(first.lines.at(-1)).toBe('asked')
  })

  it('offers nothing where there is no room', () => {
    const { first } = standing({ ours: [a], roomOctets: () => 0 })
    expect(first).toEqual(on('nothing'))
    expect(standing({ ours: [a], roomOctets: () => 1 }).first.lines).toHaveLength(2)
  })

  it('comes two hundred times, and no more in one session', () => {
    const { take, log } = standing({ book: { judge: () => ({ type: 'have' }) } })
    const offer = `offer ${idOf('A')} message 5 Q4RCV`
    const answer = on(`have ${idOf('A')}`, 'answered', 'nothing')
    for (let turn = 2; turn <= 201; turn++) expect(take(offer, 'asked'), `${turn}`).toEqual(answer)
    expect(log.filter((line) => line.startsWith('offers'))).toHaveLength(199)
    expect(take(offer)).toEqual(stopped('turns'))
  })
})

describe("the other's turn", () => {
  const offer = (letter: string) => `offer ${idOf(letter)} message 5 Q4RCV`
  const head = (letter: string) => `entry ${idOf(letter)} message Q3SND Q4RCV 5 60 ${peer}`

  it('judges each offer, takes what it wants, and says what is kept', () => {
    const judged: Judgement[] = [
      ...([{ type: 'want' }, { type: 'have' }, { type: 'ended', outcome: 'expired' }] as const),
      ...([{ type: 'refuse', reason: 'kind' }, { type: 'want' }] as const),
    ]
    const keeps = ['kept', { reason: 'full' }] as const
    const kept: string[] = []
    const { one, take } = standing({
      book: {
        judge: () => judged.shift()!,
        keep: ({ id }) => keeps[kept.push(id) - 1],
      },
    })
    expect(take(...['A', 'B', 'C', 'D', 'E'].map(offer))).toEqual(on())
    expect(take('asked')).toEqual(
      on(
        ...[`want ${idOf('A')}`, `have ${idOf('B')}`, `ended ${idOf('C')} expired`],
        ...[`refuse ${idOf('D')} kind`, `want ${idOf('E')}`, 'answered'],
      ),
    )
    expect(take(head('E'), 't hello', '.', head('A'), 't hello', '.')).toEqual(on())
    expect(take('given')).toEqual(on(`kept ${idOf('E')}`, `refuse ${idOf('A')} full`, 'nothing'))
    expect(kept).toEqual([idOf('E'), idOf('A')])
    expect(one.moved).toEqual({ given: 0, taken: 1 })
    // What was said of these is not said again.
    judged.push({ type: 'want' })
    take(offer('F'), 'asked')
    expect(take('given')).toEqual(on('nothing'))
  })

  it('tells its database what is offered, and nothing of another session', () => {
    const { take, log } = standing()
    take(offer('A'), 'asked', 'given', offer('B'), 'asked')
    expect(log).toEqual([
      `judge ${idOf('A')} message 5 Q4RCV`,
      'offers 5000',
      `judge ${idOf('B')} message 5 Q4RCV`,
    ])
    expect(take(head('A'))).toEqual(stopped('entry'))
  })

  it.each<[string, readonly string[], string]>([
    ['something else than an offer', [offer('A'), 'nothing'], 'order'],
    ['an entry that it has', [offer('B'), 'asked', head('B')], 'order'],
    ['an entry that it has, of two', [offer('A'), offer('B'), 'asked', head('B')], 'entry'],
    ['something else than an entry', [offer('A'), 'asked', 't x'], 'order'],
    ['the end of no entry', [offer('A'), 'asked', '.'], 'order'],
    [
      'an entry within an entry',
      [offer('A'), offer('C'), 'asked', head('A'), 't x', head('C')],
      'text',
    ],
    ['two subjects', [offer('A'), 'asked', head('A'), 's x', 's y'], 'text'],
    [
      'two lines that are more than offered',
      [offer('A'), 'asked', head('A'), 't abc', 't de'],
      'text',
    ],
  ])('stops at %s', (_, lines, reason) => {
    const { take } = standing({
      book: { judge: ({ id }) => ({ type: id === idOf('B') ? 'have' : 'want' }) },
    })
    expect(take(...lines)).toEqual(stopped(reason))
  })

  it('takes a text of as many octets as were offered, line feeds counted', () => {
    const { take, log } = standing()
    take(offer('A'), 'asked', head('A'), 't ab', 't ', 't c')
    expect(take('.')).toEqual(on())
    expect(log.at(-1)).toBe(`keep ${idOf('A')} ab\n\nc`)
  })

  it('refuses what is malformed, in a word, and goes on', () => {
    const { take, log } = standing()
    take('offer Q9BAD.ABCDEFGHJK message 5 Q4RCV', 'asked')
    take(`entry Q9BAD.ABCDEFGHJK message Q3SND Q4RCV 5 60 ${peer}`, 't x', '.')
    expect(take('given')).toEqual(on('refuse Q9BAD.ABCDEFGHJK trace', 'nothing'))
    expect(log.some((line) => line.startsWith('keep'))).toBe(false)
  })
})
