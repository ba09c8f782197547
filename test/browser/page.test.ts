import { spawnSync } from 'node:child_process'
import { existsSync, readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest'
import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { openValley, type Valley } from '../../src/cli/demo/valley.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { readStory } from '../../src/simulation/story.js'
import { hashPassword } from '../../src/web/password.js'
import { type PageServer, startPage } from '../../src/web/server.js'

/*
 * The page in Debian's Chromium, against the simulated valley in real time: the real program but for the air.
 */

const executablePath = ['/usr/bin/chromium', '/usr/bin/chromium-browser'].find(existsSync)
if (executablePath === undefined)
  console.log(
    'The page is not tried in a browser: there is no Chromium (Debian: apt install chromium).',
  )

const root = join(import.meta.dirname, '..', '..')
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')
const password = 'four quite plain words'
const stepMs = 20

let valley: Valley
let server: PageServer | undefined
let browser: Browser
let base: string
let port = 0
let running = true
const contexts: BrowserContext[] = []

/** Another run of the program on the same port: nothing of the former one is known to it. */
async function serve(boot: string): Promise<void> {
  server = await startPage(
    {
      ...{ clock: valley.clock, call: 'Q7RDG-10', version: '0', config: valley.config },
      ...{ ports: [valley.core], node: valley.node, store: valley.store, tryIt: valley.tryIt },
      trouble: () => undefined,
      note(event) {
        valley.store.events.add(event)
        server?.node(event)
      },
    },
    {
      ...{ address: '127.0.0.1', port, socket: '', allow: [], hosts: [], public: false },
      ...{ passwordHash: await hashPassword(password), token: [], viewersMax: 20 },
    },
    boot,
    join(root, 'dist', 'page'),
  )
  port = server.port!
  base = `http://localhost:${port}`
}

/** The valley's clock goes with the machine's, as in the demonstration. */
async function pace(): Promise<void> {
  const clock = systemClock()
  let lastMs = clock.monotonicMs()
  while (running) {
    await new Promise<void>((resume) => void clock.at(clock.monotonicMs() + stepMs, resume))
    const nowMs = clock.monotonicMs()
    await valley.clock.advanceToAsync(valley.clock.monotonicMs() + Math.min(100, nowMs - lastMs))
    lastMs = nowMs
  }
}

async function open(
  path: string,
  options: Parameters<Browser['newContext']>[0] = {},
): Promise<Page> {
  const context = await browser.newContext({ viewport: { width: 390, height: 844 }, ...options })
  contexts.push(context)
  const page = await context.newPage()
  page.setDefaultTimeout(20_000)
  await page.goto(`${base}/#/${path}`)
  await page.locator('.sentence').waitFor()
  return page
}

async function logIn(page: Page): Promise<void> {
  await page.goto(`${base}/#/setup`)
  await page.getByLabel('Password').fill(password)
  await page.getByRole('button', { name: 'Log in' }).click()
  await page.getByRole('button', { name: 'Log out' }).waitFor()
}

describe.skipIf(executablePath === undefined)('the page in a browser', () => {
  beforeAll(async () => {
    const built = spawnSync(
      process.execPath,
      [join(root, 'src/packaging/page.mjs'), '--if-older'],
      { encoding: 'utf8' },
    )
    expect(built.stderr).toBe('')
    valley = await openValley({
      story: readStory(join(root, 'samples/demo/valley.toml')),
      folder: join(root, 'samples/demo'),
      startWallMs: systemClock().wallMs(),
      onEvent: (event) => server?.node(event),
      isBusy: false,
    })
    await serve('first')
    void pace()
    browser = await chromium.launch({ executablePath: executablePath!, args: ['--no-sandbox'] })
  })
  afterEach(async () => {
    for (const context of contexts.splice(0)) await context.close()
  })
  afterAll(async () => {
    running = false
    await browser?.close()
    await server?.close()
    await valley?.close()
  })

  it('a typed question goes by radio, is answered, and is a thread with its tries', async () => {
    const page = await open('try')
    await page.getByLabel(/^Ask something/).fill('sun <img src=x onerror=alert(1)>')
    let dialogs = 0
    page.on('dialog', (dialog) => {
      dialogs++
      void dialog.dismiss()
    })
    await page.getByRole('button', { name: 'Send' }).click()
    await page.locator('.screen li', { hasText: 'arrived' }).waitFor()
    // What stands on the strip is text, whatever it looks like.
    await page.locator('.line[data-kind="asked"]', { hasText: '<img src=x' }).waitFor()
    await page.locator('.screen li.ours').first().waitFor()
    expect(await page.locator('main img').count()).toBe(0)
    expect(dialogs).toBe(0)
    await page.goto(`${base}/#/conversations`)
    const thread = page.locator('.thread').first()
    await thread
      .locator('.answers li', { hasText: /sent (once|\d times)/ })
      .first()
      .waitFor()
    await thread.getByText('Every try').click()
    await thread.locator('details li', { hasText: 'asks' }).waitFor()
    await thread.locator('details li', { hasText: 'sent' }).first().waitFor()
  })

  it('rows of the spectrum come, and a tone stands where it is', async () => {
    const page = await open('now')
    for (const [tone, hz] of [
      ['mark', /12[0-2]0 Hz/],
      ['space', /2[12]\d0 Hz/],
    ] as const) {
      const notAfterMs = valley.clock.monotonicMs() + 30_000
      valley.own.sendTone({ id: tone, tone, durationMs: 3000, notAfterMs })
      await page.getByRole('img', { name: hz }).waitFor()
    }
    expect(await page.evaluate(inkOnStrip)).toBeGreaterThan(100)
  })

  it('a frame that is too weak is shown as damaged, and how', async () => {
    const page = await open('try')
    await page.getByRole('slider').fill('1')
    await page.getByText('1 dB over the noise').waitFor()
    const damaged = page.locator('.line[data-kind="damaged"]', { hasText: /dBFS was lost/ })
    for (let count = 0; count < 6 && (await damaged.count()) === 0; count++) {
      valley.tryIt.send(`help ${count}`)
      await damaged
        .first()
        .waitFor({ timeout: 4000 })
        .catch(() => {})
    }
    await damaged.first().waitFor()
    valley.tryIt.setNoise(16)
  })

  it('what came to nothing is counted in words, and at 320 px no label stands on another', async () => {
    const page = await open('now', { viewport: { width: 320, height: 640 } })
    const labels = page.locator('.strip-key span:visible')
    await labels.first().waitFor()
    const boxes = await Promise.all((await labels.all()).map((label) => label.boundingBox()))
    expect(boxes.length).toBeGreaterThan(1)
    for (const [index, box] of boxes.entries()) {
      const before = boxes[index - 1]
      if (before) expect(box!.x).toBeGreaterThanOrEqual(before.x + before.width)
    }
    // 999 °F are a broken sensor.
    const source = { call: 'Q1TST', ssid: 3 }
    const payload = Buffer.from('_10090556c220s004g005t999')
    const frame = uiFrame({ source, destination: { call: 'APZ001', ssid: 0 }, path: [], payload })
    const request = { id: 'weather', octets: encodeFrame(frame), origin: 'node' } as const
    const notAfterMs = valley.clock.monotonicMs() + 30_000
    valley.own.send({ ...request, priority: 'beacon', notAfterMs })
    await page.goto(`${base}/#/conversations`)
    const said = /1 × weather left out temperatureC outside of what weather can be/
    await page.locator('.endings li', { hasText: said }).waitFor()
  })

  it('a hold cuts sending, is seen in another browser, and is in the log with who', async () => {
    const [page, other] = [await open('now'), await open('now')]
    await logIn(page)
    await page.goto(`${base}/#/now`)
    valley.core.sendTone({
      ...{ id: 'long', tone: 'mark', durationMs: 7000 },
      notAfterMs: valley.clock.monotonicMs() + 30_000,
    })
    await other.getByText('Q7RDG-10: sending.').waitFor()
    await page.getByLabel(/^Why/).fill('work on the mast')
    await page.getByRole('button', { name: 'Hold sending' }).click()
    await other.getByText(/Held since .* work on the mast/).waitFor()
    expect(valley.core.state().keyed).toBe(false)
    await page.getByRole('button', { name: 'Let it send' }).click()
    await page.getByRole('button', { name: 'Hold sending' }).waitFor()
    await other.goto(`${base}/#/log`)
    await other
      .locator('.log li', { hasText: /by hand.*hold on/ })
      .first()
      .waitFor()
  })

  it('the node gone: the page says so within 3 s, and goes on by itself without a gap', async () => {
    const page = await open('now')
    await page.locator('canvas').waitFor()
    await server!.close()
    server = undefined
    await page.getByText(/No word from the node/).waitFor({ timeout: 3000 })
    // Told by nobody meanwhile, and in the log all the same.
    valley.store.events.add({
      ...{ atWallMs: valley.clock.wallMs(), kind: 'fault', text: 'while nobody looked' },
    })
    await serve('second')
    await page.locator('.line', { hasText: 'while nobody looked' }).waitFor()
    expect(await page.getByText(/No word from the node/).count()).toBe(0)
  })

  it('who wants no motion gets the list alone; nothing scrolls sideways at 320 px', async () => {
    const page = await open('now', {
      reducedMotion: 'reduce',
      viewport: { width: 320, height: 640 },
    })
    await page.locator('.strip-older li').first().waitFor()
    expect(await page.locator('canvas').count()).toBe(0)
    for (const view of views) {
      await page.goto(`${base}/#/${view}`)
      await page.locator('main h2').first().waitFor()
      const wide = await page.evaluate('document.documentElement.scrollWidth')
      expect(wide, view).toBeLessThanOrEqual(320)
    }
  })

  it('axe finds nothing, in any view, width and look', async () => {
    const found: string[] = []
    const looks = [
      { width: 320, colorScheme: 'light' },
      { width: 390, colorScheme: 'dark' },
      { width: 1280, colorScheme: 'light', forcedColors: 'active' },
    ] as const
    for (const { width, ...look } of looks) {
      const page = await open('now', { ...look, viewport: { width, height: 800 } })
      if (width === 390) await logIn(page)
      // The content's rules do not hold for who tests them.
      await page.evaluate(axe)
      for (const view of views) {
        await page.goto(`${base}/#/${view}`)
        await page.locator('main h2').first().waitFor()
        for (const problem of await page.evaluate<string[]>(problems))
          found.push(`${view} at ${width}: ${problem}`)
      }
    }
    expect(found).toEqual([])
  })

  it('everything can be reached and done by keyboard', async () => {
    const page = await open('try')
    await page.keyboard.press('Tab')
    await page.keyboard.press('Enter')
    expect(await page.evaluate('document.activeElement?.id')).toBe('content')
    await page.keyboard.press('Tab')
    await page.keyboard.type('clock')
    await page.keyboard.press('Enter')
    await page.locator('.screen li', { hasText: 'clock' }).first().waitFor()
  })
})

const views = ['now', 'stations', 'conversations', 'mail', 'log', 'setup', 'try']

/** Runs in the browser: pixels of the strip that are not empty. */
const inkOnStrip = `(() => {
  const canvas = document.querySelector('.strip canvas')
  const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, 400)
  let count = 0
  for (let at = 3; at < data.length; at += 4) if (data[at] > 60) count++
  return count
})()`

/** Runs in the browser: a line for each place that breaks a rule. */
const problems = `axe.run().then(({ violations }) => violations.flatMap(({ id, nodes }) =>
  nodes.map(({ html, failureSummary }) => id + ': ' + html.slice(0, 200) + ' ' + failureSummary)))`
