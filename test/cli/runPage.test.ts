import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, expect, it } from 'vitest'
import { createReload } from '../../src/cli/run/reload.js'
import type { KeepingLog } from '../../src/cli/run/runLog.js'
import { openRunningNode, type RunningNode } from '../../src/cli/run/runNode.js'
import { openConfiguredPage } from '../../src/cli/run/runPage.js'
import { loadConfig } from '../../src/config/load.js'
import { seededRandom } from '../../src/runtime/random.js'
import type { PageServer } from '../../src/web/server.js'
import { radio } from '../radio/coreBench.js'

const folder = mkdtempSync(join(tmpdir(), 'ridgepost-run-page-'))
const configFile = join(folder, 'node.toml')
let page: PageServer | undefined
let running: RunningNode | undefined
afterEach(async () => {
  await page?.close()
  running?.stop()
  await running?.release()
  rmSync(folder, { recursive: true, force: true })
})

const write = (windowSize: number, level: string): void =>
  writeFileSync(
    configFile,
    `[station]\ncall = "Q7RDG-10"\n[store]\nfile = ":memory:"\n[node]\nwindow = ${windowSize}\n` +
      `[log]\nlevel = "${level}"\n[page]\nenabled = true\nport = 0\nviewersMax = ${windowSize + 5}\n`,
  )

it('the page shows the configuration that holds now, also after a reload', async () => {
  write(1, 'all')
  const config = await loadConfig(configFile)
  const { clock, core } = radio()
  const log = new Proxy({} as KeepingLog, { get: () => () => [] })
  const shared = { config, configFile, clock, random: seededRandom(1), ports: [core], log }
  running = await openRunningNode({ ...shared, nextId: () => 'id' })
  page = await openConfiguredPage({ ...shared, running, trouble: () => undefined })
  const reload = createReload({ ...shared, running, adjust: (one) => one })
  const shown = async () =>
    (await fetch(`http://127.0.0.1:${page!.port}/api/v1/config`)).json() as Promise<typeof config>
  expect(await shown()).toMatchObject({ node: { window: 1 }, log: { level: 'all' } })
  write(2, 'quiet')
  expect((await reload()).lines).toEqual([
    'Taken over: node.window, log.level.',
    'Needs a restart: page.viewersMax.',
  ])
  expect(await shown()).toMatchObject({
    ...{ node: { window: 2 }, log: { level: 'quiet' } },
    // What needs a restart is shown as it still is.
    page: { viewersMax: 6 },
  })
})
