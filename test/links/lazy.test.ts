import { describe, expect, it } from 'vitest'
import { sourceFiles } from '../tidy/sources.js'

/** Files that load another when they are loaded: types are gone by then. */
const loaders = (name: RegExp): string[] =>
  sourceFiles('src')
    .filter(({ text }) =>
      [...text.matchAll(/^(?:import|export) (?!type\b)[^'"]*?from '([^']+)'/gm)].some(([, from]) =>
        name.test(from!),
      ),
    )
    .map(({ path }) => path)

const inTwoPlaces = ['src/cli/demo/storyParts.ts', 'src/cli/run/runNode.ts']

describe('mail that is not configured', () => {
  it('is not loaded: neither its carriers nor what they stand on', () => {
    expect(loaders(/^nodemailer/)).toEqual(['src/links/smtp.ts'])
    expect(loaders(/^postal-mime/)).toEqual(['src/links/maildir.ts'])
    expect(loaders(/(links\/|\.\/)(smtp|maildir)\.js$/)).toEqual(['src/setup/openEmail.ts'])
    expect(loaders(/email\/email(Link|Queue|Inbox|Writing|Ending|Text)?\.js$/)).toEqual(
      expect.not.arrayContaining(['src/node/node.ts', 'src/node/conversing.ts']),
    )
    // and that file is loaded by name: by the demonstration, and in one place of `run`
    expect(loaders(/openEmail\.js$/)).toEqual([])
    const named = sourceFiles('src').filter(({ text }) =>
      text.includes("import('../../setup/openEmail.js')"),
    )
    expect(named.map(({ path }) => path)).toEqual(inTwoPlaces)
    expect(named[1]!.text).toMatch(
      /if \(!config\.email\.enabled\) return undefined\n[^\n]*await import\('/,
    )
  })
})

describe('a broker that is not configured', () => {
  it('is not loaded: neither its library nor what stands on it', () => {
    expect(loaders(/^mqtt/)).toEqual(['src/links/mqtt.ts'])
    expect(loaders(/links\/mqtt\.js$/)).toEqual(['src/setup/openBroker.ts'])
    expect(loaders(/(broker\/|\.\/)(brokerCarrier|siteState|topics)\.js$/).sort()).toEqual([
      'src/node/broker/brokerCarrier.ts',
      'src/setup/openBroker.ts',
    ])
    expect(loaders(/openBroker\.js$/)).toEqual([])
    const named = sourceFiles('src').filter(({ text }) =>
      text.includes("import('../../setup/openBroker.js')"),
    )
    expect(named.map(({ path }) => path)).toEqual(inTwoPlaces)
    expect(named[1]!.text).toMatch(
      /if \(!config\.broker\.enabled\) return undefined\n[^\n]*await import\('/,
    )
  })
})
