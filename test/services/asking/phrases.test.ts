import { expect, it } from 'vitest'
import { seededRandom } from '../../../src/runtime/random.js'
import { phrasesWithoutArticles, withoutArticles } from '../../../src/services/asking/tokens.js'

it('phrases that grow word by word are those without their articles, one by one', () => {
  const random = seededRandom(3)
  const some = ['send', 'a', 'the', 'message', 'my', 'to', 'das', 'x']
  for (let run = 0; run < 2_000; run++) {
    const words = Array.from(
      { length: 1 + Math.floor(random() * 9) },
      () => some[Math.floor(random() * some.length)]!,
    )
    expect(phrasesWithoutArticles(words)).toEqual(
      words.map((_, at) => withoutArticles(words.slice(0, at + 1).join(' '))),
    )
  }
  expect(phrasesWithoutArticles([])).toEqual([])
})
