import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { stringify } from 'smol-toml'
import { afterAll, describe, expect, it } from 'vitest'
import { createReload } from '../../src/cli/run/reload.js'
import { parseConfig } from '../../src/config/load.js'
import type { Config } from '../../src/config/schema.js'
import { ownOptions, takeOptions } from '../../src/node/liveOptions.js'
import type { NodeOptions } from '../../src/node/options.js'
import { configTables } from '../../src/packaging/configKeys.js'
import type { RadioPort } from '../../src/radio/radioPort.js'
import { nodeOptions } from '../../src/setup/nodeOptions.js'
import { bases, candidates, configOf, type Document, keysOf, withKey } from './changedKeys.js'

const folder = mkdtempSync(join(tmpdir(), 'ridgepost-reload-'))
afterAll(() => rmSync(folder, { recursive: true, force: true }))
const configFile = join(folder, 'node.toml')

/** Everything of the node's options that is data; objects are what the beacons would tell of. */
const dataOf = (options: NodeOptions): unknown =>
  JSON.parse(JSON.stringify({ ...options, objects: options.beacons.objects() }))

/** A running node as far as a reload sees it: what it was given last. */
function running(config: Config, take = takeOptions) {
  const options = ownOptions(nodeOptions(config))
  const access: unknown[] = []
  const logs: unknown[] = []
  const port = { setAccess: (change: unknown) => void access.push(change) } as unknown as RadioPort
  const log = { change: (settings: unknown) => void logs.push(settings) }
  const reload = createReload({
    ...{ configFile, config, adjust: (one) => one },
    ports: config.radios.map(() => port),
    running: { takeConfig: (one) => take(options, nodeOptions(one)) },
    log: log as unknown as Parameters<typeof createReload>[0]['log'],
  })
  return { reload, options, access, logs }
}

/** Values of a key that make another configuration, with the document that they are in. */
function* changes(path: string, key: Parameters<typeof candidates>[0]) {
  for (const base of bases)
    for (const value of candidates(key, path)) {
      const before = configOf(base)!
      const document = withKey(base as Document, path.split('.'), value)
      const after = configOf(document)
      if (after !== undefined && JSON.stringify(after) !== JSON.stringify(before))
        yield { before, after, text: stringify(document) }
    }
}

/** What the node's options are made of: what is taken over of these must have reached them. */
const ofNode = /^(station|node|emergency|beacons)\./

describe('a reload with each key changed once', () => {
  it.each(keysOf(configTables()))('$path is taken over, or named', async ({ path, key }) => {
    const [change] = changes(path, key)
    expect(change, `${path} wants another value in \`others\``).toBeDefined()
    const { before, after, text } = change!
    writeFileSync(configFile, text)
    const { reload, options, access, logs } = running(before)
    const { ok, lines } = await reload()
    expect(ok).toBe(true)
    const said = lines.join('\n')
    const isTaken = said.startsWith('Taken over: ')
    expect(isTaken !== said.startsWith('Needs a restart: '), said).toBe(true)
    const keys = said
      .replace(/^.*?: /, '')
      .replace(/\.$/, '')
      .split(', ')
    const inFile = path.replace(/^radio\./, 'radio.0.')
    // A list of tables is one value; a table of the user's own words has a key for each.
    const isNamed = (one: string): boolean =>
      inFile === one || inFile.startsWith(`${one}.`) || one.startsWith(`${inFile}.`)
    expect(keys.filter((one) => !isNamed(one))).toEqual([])
    if (!isTaken) {
      expect([access, logs]).toEqual([[], []])
      expect(dataOf(options)).toEqual(dataOf(nodeOptions(before)))
      // It is named again until the restart.
      expect((await reload()).lines).toEqual(lines)
      return
    }
    expect(logs).toEqual([after.log])
    if (path.startsWith('transmit.')) {
      const { slotTimeMs, persistence, fullDuplex } = after.radios[0]!.transmit
      expect(access).toEqual([{ slotTimeMs, persistence, fullDuplex }])
    } else expect(access).toEqual([])
    // The place goes another way: a GPS may know better.
    if (ofNode.test(path) && !/tudeDeg$/.test(path)) {
      const { position: _, ...taken } = dataOf(options) as { position: unknown }
      const { position: __, ...wanted } = dataOf(nodeOptions(after)) as { position: unknown }
      expect(taken).toEqual(wanted)
    }
    expect((await reload()).lines).toEqual(['Nothing has changed in it.'])
  })
})

describe('reload', () => {
  it('a bad file changes nothing, and says why', async () => {
    const config = parseConfig('[node]\nwindow = 2', 'node.toml')
    const { reload, options, logs } = running(config)
    writeFileSync(configFile, '[node]\nwindow = 9\nignored = ["Q1ABC"]')
    const bad = await reload()
    expect(bad.ok).toBe(false)
    expect(bad.lines.join('\n')).toMatch(/node\.window: got 9.*\nNothing is changed\.$/)
    expect([options.answers.window, options.ignored, logs]).toEqual([2, [], []])
    rmSync(configFile)
    expect((await reload()).ok).toBe(false)
  })

  it('after one that failed the next one takes over what that did not', async () => {
    let times = 0
    const { reload, options } = running(parseConfig('', 'node.toml'), (own, next) => {
      if (times++ === 0) throw new Error('a mistake')
      return takeOptions(own, next)
    })
    writeFileSync(configFile, '[node]\nwindow = 2')
    await expect(reload()).rejects.toThrow('a mistake')
    expect((await reload()).lines).toEqual(['Taken over: node.window.'])
    expect(options.answers.window).toBe(2)
  })

  it('two at once are one after the other; a radio more is named, not taken for a change of the first', async () => {
    const { reload } = running(parseConfig('', 'node.toml'))
    writeFileSync(configFile, '[node]\nwindow = 2')
    expect(await Promise.all([reload(), reload()])).toEqual([
      { ok: true, lines: ['Taken over: node.window.'] },
      { ok: true, lines: ['Nothing has changed in it.'] },
    ])
    writeFileSync(
      configFile,
      '[node]\nwindow = 2\n[[radio]]\nname = "a"\n[[radio]]\nname = "b"\n[radio.transmit]\npersistence = 5',
    )
    const { lines } = await reload()
    expect(lines).toHaveLength(1)
    expect(lines[0]).toMatch(/^Needs a restart: .*radio\.1\.name/)
  })

  it('an access that a KISS client set stays, where the file says nothing new of it', async () => {
    const { reload, access } = running(parseConfig('', 'node.toml'))
    writeFileSync(configFile, '[node]\nwindow = 2')
    await reload()
    expect(access).toEqual([])
  })
})
