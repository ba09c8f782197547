import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterAll, describe, expect, it } from 'vitest'
import { parseConfig } from '../../src/config/load.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createServices, type ServiceEvent } from '../../src/services/all.js'
import { dispatch } from '../../src/services/dispatch.js'
import { serviceOptions } from '../../src/setup/serviceOptions.js'
import { testContext } from './testContext.js'

const folder = mkdtempSync(join(tmpdir(), 'language-'))
afterAll(() => rmSync(folder, { recursive: true }))

/** What a node with this file answers, and what its operator is told. */
async function withFile(toml: string, language = 'nl') {
  writeFileSync(join(folder, 'own.toml'), toml)
  const config = parseConfig(
    `[station]\nlanguage = "${language}"\n[services]\nlanguageFile = "own.toml"`,
    'node.toml',
  )
  const events: ServiceEvent[] = []
  const clock = virtualClock(Date.UTC(2026, 5, 21, 16))
  const open = createServices(serviceOptions(config, folder, clock, (event) => events.push(event)))
  await open.ready
  const ask = async (text: string): Promise<string> => {
    const context = testContext({
      ...{ clock, language, wordings: open.wordings, services: open.services },
    })
    return (await dispatch({ id: text, from: 'N0CALL-7', text }, open, context)).messages.join(
      ' / ',
    )
  }
  return { ask, events, close: () => open.close() }
}

const dutch = `language = "nl"
[words]
weer = "conditions"
"waar ben ik" = "where me"
[texts]
decimalSign = ","
minutes = "{count}min"
notHeard = "{call} is hier niet gehoord."
noWeather = "Geen weer gehoord in de laatste {age}{around}."
within = " binnen {distance}"
usageHeard = "heard [CALL of N]"
`

describe("a club's own language", () => {
  it('is the station\u2019s, and what it lacks is said in English', async () => {
    const { ask, events, close } = await withFile(dutch)
    expect(await ask('heard Q1ABC')).toBe('Q1ABC is hier niet gehoord.')
    expect(await ask('weer')).toBe('Geen weer gehoord in de laatste 2h binnen 150km.')
    expect(await ask('waar ben ik')).toMatch(/^No position of N0CALL-7/)
    expect(await ask('help heard')).toMatch(/^heard \[CALL of N\] \/ Stations heard lately/)
    expect(await ask('wie ist das Wetter')).toMatch(/kein Wetter gehoert/)
    expect(events).toMatchObject([{ kind: 'loaded', count: 6, rejected: [] }])
    await close()
  })

  it('is used with who asks by one of its words, where the station has another', async () => {
    const { ask, close } = await withFile(dutch, 'en')
    expect(await ask('weer')).toMatch(/^Geen weer/)
    expect(await ask('conditions')).toMatch(/^No weather/)
    await close()
  })

  it('may have better words for a language that the program knows', async () => {
    const own = 'language = "de"\n[texts]\nnotHeard = "{call}: nix gehoert."'
    const { ask, close } = await withFile(own, 'de')
    expect(await ask('heard Q1ABC')).toBe('Q1ABC: nix gehoert.')
    expect(await ask('collect')).toBe('Fuer N0CALL-7 wartet nichts.')
    await close()
  })

  it('leaves out what is wrong, and says what and why', async () => {
    const { ask, events, close } = await withFile(
      'language = "nl"\nfont = 1\n[words]\nweer = 7\n[texts]\nnotHeard = "Niet gehoord."\nnone = "x"\nboardEmpty = 3',
    )
    expect(await ask('heard Q1ABC')).toBe('Q1ABC was not heard here.')
    expect(events).toMatchObject([
      {
        rejected: [
          'own.toml: font: not known here; there are language, [words] and [texts]',
          'own.toml: notHeard: {call} is left out: expected {call}',
          'own.toml: none: there is no text of this name',
          'own.toml: boardEmpty: expected a text',
          'own.toml: words.weer: expected a keyword, such as weer = "conditions"',
        ],
      },
    ])
    await close()
  })

  it.each([
    ['language = 7', /expected two or three letters/],
    ['language = "nl"\ntexts = 3', /words and texts are tables/],
    ['language = "nl', /own\.toml:1:\d+/],
  ])(
    'that cannot be used at all is a fault, and the node speaks the others: %s',
    async (toml, reason) => {
      const { ask, events, close } = await withFile(toml)
      expect(await ask('heard Q1ABC')).toBe('Q1ABC was not heard here.')
      expect(events).toMatchObject([{ kind: 'fault', reason: expect.stringMatching(reason) }])
      await close()
    },
  )

  it('is asked for where the station has a language that the program does not know', () => {
    expect(() => parseConfig('[station]\nlanguage = "nl"', 'node.toml')).toThrow(
      /station\.language: got "nl", expected one of en, de, fr, es, it/,
    )
  })
})
