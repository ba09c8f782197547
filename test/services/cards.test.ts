import { fileURLToPath } from 'node:url'
import { describe, expect, it } from 'vitest'
import { cardIndex } from '../../src/services/cards/cardIndex.js'
import { loadCards } from '../../src/services/cards/loadCards.js'
import { parseCsvCards, parseMarkdownCards } from '../../src/services/cards/parseCards.js'
import { dispatch } from '../../src/services/dispatch.js'
import { findService } from '../../src/services/find.js'
import { answerOf, testContext } from './testContext.js'

describe('cards of a Markdown file', () => {
  it('begin with each heading, and say what stands under it', () => {
    const text = [
      '# Bus #',
      'Keywords: timetable, shuttle; coach',
      '',
      'Every **hour** at :15,',
      'see [the plan](plan.html).',
      '## Water',
      '- Coldwell hall',
      '- Windgap hut.',
      '- spring',
    ].join('\r\n')
    const { entries, rejected } = parseMarkdownCards(text, 'camp.md')
    expect(rejected).toEqual([])
    expect(entries).toEqual([
      {
        title: 'Bus',
        keywords: ['timetable', 'shuttle', 'coach'],
        text: 'Every hour at :15, see the plan.',
        place: 'camp.md:1',
      },
      {
        title: 'Water',
        keywords: [],
        text: 'Coldwell hall; Windgap hut. spring',
        place: 'camp.md:6',
      },
    ])
  })

  it('have the name of the file where there is no heading', () => {
    const { entries } = parseMarkdownCards('Just words\n', 'lost-and_found.md')
    expect(entries[0]).toMatchObject({ title: 'lost and found', text: 'Just words' })
  })

  it('say which heading has nothing under it', () => {
    const { entries, rejected } = parseMarkdownCards('# A\n\n# B\ntext\n', 'x.md')
    expect(entries.map((card) => card.title)).toEqual(['B'])
    expect(rejected).toEqual([{ line: 1, got: '"A"', expected: 'text under the heading' }])
  })

  it('keep tables and code readable', () => {
    const { entries } = parseMarkdownCards(
      '# Net\n| day | time |\n|---|---|\n| Mon | 19:30 |\n\n```\n# no heading\n```\n',
      'n.md',
    )
    expect(entries).toHaveLength(1)
    expect(entries[0]!.text).toBe('day time; Mon 19:30; # no heading')
  })
})

describe('cards of a CSV file', () => {
  it('have title, text and keywords', () => {
    const { entries, rejected } = parseCsvCards(
      'Topic;Text;Tags\nBus;"hourly\nat :15";coach, shuttle\n;nothing;\nEmpty;;\n',
      'c.csv',
    )
    expect(entries).toEqual([
      { title: 'Bus', keywords: ['coach', 'shuttle'], text: 'hourly at :15', place: 'c.csv:2' },
    ])
    expect(rejected.map((one) => [one.line, one.field])).toEqual([
      [4, 'title'],
      [5, 'text'],
    ])
  })
  it('say what columns they need', () => {
    expect(parseCsvCards('a,b\n1,2', 'c.csv')).toMatchObject({
      entries: [],
      rejected: [{ line: 1, expected: 'columns title and text (and keywords)' }],
    })
  })
})

const card = (title: string, text: string, keywords: string[] = []) => ({
  title,
  keywords,
  text,
  place: '',
})

describe('the best card', () => {
  const index = cardIndex([
    card('Camp', 'Field behind the mill. The bus stops there.'),
    card('Bus', 'Every hour at :15', ['shuttle']),
    card('Café', 'Open 8 to 20 in the mill'),
    card('Storm', 'Leave the ridge', ['lightning', 'thunder']),
  ])
  it.each([
    ['bus', 'Bus'],
    ['BUSES', 'Bus'],
    ['shuttle', 'Bus'],
    ['cafe', 'Café'],
    ['thund', 'Storm'],
    ['mill field', 'Camp'],
    ['bus camp', 'Camp'],
    ['where is the lightning?', 'Storm'],
  ])('for "%s" is %s', (topic, title) => {
    expect(index.search(topic)[0]?.title).toBe(title)
  })
  it('is none for words that no card has', () => {
    expect(index.search('xylophone')).toEqual([])
    expect(index.search('')).toEqual([])
  })
})

describe('find', () => {
  const samples = fileURLToPath(new URL('../../samples/hilltop/cards', import.meta.url))

  it('answers out of the sample cards, every one within three messages', async () => {
    const { entries, rejected, files } = await loadCards(samples)
    expect(rejected).toEqual([])
    expect(files).toHaveLength(2)
    const service = findService({ cards: () => cardIndex(entries) })
    expect((await answerOf(service, 'lightning'))[0]).toMatch(/^Storm: Leave the ridge/)
    for (const { title } of entries) {
      const [text] = await answerOf(service, title)
      expect(text!.length, title).toBeLessThanOrEqual(3 * 67 - 20)
    }
  })

  it('gives all of a long card when asked for more', async () => {
    const long = card('Rules', 'Take your litter home. '.repeat(20))
    const service = findService({ cards: () => cardIndex([long, card('More', 'tea')]) })
    const ask = async (rest: string) =>
      (
        await dispatch(
          { id: 'q', from: 'N0CALL-7', text: `find ${rest}` },
          { services: [service] },
          testContext(),
        )
      ).messages
    expect(await ask('rules')).toHaveLength(3)
    expect((await ask('rules'))[2]).toMatch(/\.\.$/)
    expect((await ask('rules more')).join(' ')).toBe(`Rules: ${long.text.trim()}`)
    expect(await ask('more')).toEqual(['More: tea'])
  })

  it('whoever is in need gets the card that his own words name, else is told to call', async () => {
    const cards = [card('First aid post', 'school hall', ['medic']), card('Bus', 'hourly')]
    const service = findService({ cards: () => cardIndex(cards) })
    const ask = async (text: string) =>
      (await dispatch({ id: 'q', from: 'N0CALL-7', text }, { services: [service] }, testContext()))
        .messages
    expect(await ask('my mate is injured, need a medic')).toEqual(['First aid post: school hall'])
    expect((await ask('emergency')).join(' ')).toBe(
      'Nothing on "emergency". Call for help by voice. Topics: First aid post, Bus',
    )
  })

  it('whoever is in need where no card is stored is told to call by voice', async () => {
    const service = findService({ cards: () => undefined })
    const { messages } = await dispatch(
      { id: 'q', from: 'N0CALL-7', text: 'need a medic' },
      { services: [service] },
      testContext(),
    )
    expect(messages).toEqual(['The operator has stored no topics. Call for help by voice.'])
  })

  it('says what there is when it finds nothing, or is asked nothing', async () => {
    const service = findService({ cards: () => cardIndex([card('Bus', 'hourly')]) })
    expect(await answerOf(service, 'tea')).toEqual(['Nothing on "tea". Topics: Bus'])
    expect(await answerOf(service, '')).toEqual(['Find what? Topics: Bus'])
    const bare = findService({ cards: () => undefined })
    expect(await answerOf(bare, 'bus')).toEqual(['The operator has stored no topics.'])
    const two = findService({ cards: () => cardIndex([card('Bus', 'x'), card('Busman', 'y')]) })
    expect(await answerOf(two, 'bus')).toEqual(['Bus: x (also: Busman)'])
  })
})
