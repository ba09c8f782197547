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
/** What is played needs no click first. */
const args = ['--no-sandbox', '--autoplay-policy=no-user-gesture-required']
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
      ...{ clock: valley.clock, call: 'Q7RDG-10', version: '0', config: () => valley.config },
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
    valley = await openValley({
      story: readStory(join(root, 'samples/demo/valley.toml')),
      folder: join(root, 'samples/demo'),
      startWallMs: systemClock().wallMs(),
      onEvent: (event) => server?.node(event),
      isBusy: false,
    })
    await serve('first')
    void pace()
    browser = await chromium.launch({ executablePath: executablePath!, args })
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
    // Two lines of ink and no third one, in the scale of the picture, whose columns are 28 to 60 Hz wide.
    const isNear = (line: number, hz: number): boolean => Math.abs(line - hz) < 90
    await expect
      .poll(() => page.evaluate<number[]>(inkedHz), patience)
      .toSatisfy(
        (lines: number[]) =>
          [1200, 2200].every((hz) => lines.some((line) => isNear(line, hz))) &&
          lines.every((line) => isNear(line, 1200) || isNear(line, 2200)),
      )
    expect(await page.evaluate(inkOnStrip)).toBeGreaterThan(100)
    const before = await page.evaluate(picture)
    await expect.poll(() => page.evaluate(picture), patience).not.toBe(before)
  })

  it('what is played in the browser is what the radio hears: each tone where it is', async () => {
    const page = await open('try')
    await page.getByRole('button', { name: 'Hear what the node hears' }).click()
    await page.evaluate(`{
      const sound = new AudioContext()
      window.analyser = new AnalyserNode(sound, { fftSize: 4096, smoothingTimeConstant: 0 })
      sound.createMediaElementSource(document.querySelector('audio')).connect(window.analyser)
      window.analyser.connect(sound.destination)
    }`)
    for (const [tone, from, to] of [
      ['mark', 1180, 1220],
      ['space', 2180, 2220],
    ] as const) {
      const notAfterMs = valley.clock.monotonicMs() + 30_000
      valley.own.sendTone({ id: `hear-${tone}`, tone, durationMs: 5000, notAfterMs })
      await expect.poll(() => page.evaluate(loudestHz), patience).toSatisfy(within(from, to))
    }
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
    // With its cause, in the words of the radio.
    const causes = /weak: Eb\/N0|2200 Hz tone \d+ dB/
    await damaged.filter({ hasText: causes }).first().waitFor()
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
    let unkeyedWallMs = 0
    valley.core.onEvent(({ kind, atWallMs }) => {
      if (kind === 'unkeyed') unkeyedWallMs = atWallMs
    })
    await logIn(page)
    await page.goto(`${base}/#/now`)
    valley.core.sendTone({
      ...{ id: 'long', tone: 'mark', durationMs: 7000 },
      notAfterMs: valley.clock.monotonicMs() + 30_000,
    })
    await other.getByText('Q7RDG-10: sending.').waitFor()
    await page.getByLabel(/^Why/).fill('work on the mast')
    const hold = page.getByRole('button', { name: 'Hold sending' })
    // On a phone's first screen.
    const box = await hold.boundingBox()
    expect(box!.y + box!.height).toBeLessThanOrEqual(844)
    await hold.click()
    await other.getByText(/Held since .* work on the mast/).waitFor()
    expect(valley.core.state().keyed).toBe(false)
    // From the click's arrival to the key line, on the valley's clock.
    const { store } = valley
    const [asked] = store.events
      .query({ kinds: ['control'] })
      .filter(({ text }) => /mast/.test(text))
    expect(Math.abs(unkeyedWallMs - asked!.atWallMs)).toBeLessThan(250)
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
    await page
      .locator('.connection', { hasText: /No word from the node/ })
      .waitFor({ timeout: 3000 })
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
    for (const { width, isLoggedIn, ...look } of process.env.AXE === 'all'
      ? everyLook
      : someLooks) {
      const page = await open('now', { ...look, viewport: { width, height: 800 } })
      if (isLoggedIn) await logIn(page)
      // The content's rules do not hold for who tests them.
      await page.evaluate(axe)
      const how = `${width} px, ${look.colorScheme}${look.forcedColors ? ', forced colours' : ''}`
      for (const view of views) {
        await page.goto(`${base}/#/${view}`)
        await page.locator('main h2').first().waitFor()
        for (const problem of await page.evaluate<string[]>(problems))
          found.push(`${view}, ${how}${isLoggedIn ? ', logged in' : ''}: ${problem}`)
      }
    }
    expect(found).toEqual([])
  }, 600_000)

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

/** A browser gathers some seconds of an endless sound before it plays. */
const patience = { timeout: 60_000, interval: 100 }
const within =
  (from: number, to: number) =>
  (hz: unknown): boolean =>
    (hz as number) > from && (hz as number) < to

interface Look {
  readonly width: number
  readonly colorScheme: 'light' | 'dark'
  readonly forcedColors?: 'active'
  readonly isLoggedIn: boolean
}

/** Each width, each look and both states once. `AXE=all npx vitest run test/browser` takes minutes and tries all of them together. */
const someLooks: readonly Look[] = [
  { width: 320, colorScheme: 'light', isLoggedIn: false },
  { width: 390, colorScheme: 'dark', isLoggedIn: true },
  { width: 1280, colorScheme: 'light', forcedColors: 'active', isLoggedIn: false },
]
const everyLook: readonly Look[] = [320, 390, 1280].flatMap((width) =>
  [false, true].flatMap((isLoggedIn): Look[] => [
    { width, isLoggedIn, colorScheme: 'light' },
    { width, isLoggedIn, colorScheme: 'dark' },
    { width, isLoggedIn, colorScheme: 'light', forcedColors: 'active' },
  ]),
)

const views = ['now', 'stations', 'conversations', 'mail', 'log', 'setup', 'try']

/** Runs in the browser: pixels of the strip that are not empty. */
const inkOnStrip = `(() => {
  const canvas = document.querySelector('.strip canvas')
  const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, 400)
  let count = 0
  for (let at = 3; at < data.length; at += 4) if (data[at] > 60) count++
  return count
})()`

/** Runs in the browser: the columns of the strip that are dark for more than a second, in Hz; without the scale at its left and top. */
const inkedHz = `(() => {
  const canvas = document.querySelector('.strip canvas')
  const ratio = canvas.width / canvas.clientWidth
  // On the right of it the bar and the leaders.
  const width = Math.round(canvas.width - (14 + 18) * ratio)
  const [left, top] = [Math.round(8 * ratio), Math.round(8 * ratio)]
  const { data } = canvas.getContext('2d').getImageData(0, 0, width, canvas.height)
  const found = []
  for (let x = left; x < width; x++) {
    let dark = 0
    for (let y = top; y < canvas.height; y++) if (data[4 * (y * width + x) + 3] > 200) dark++
    if (dark > 13 * ratio) found.push(((x + 0.5) / width) * 4000)
  }
  return found
})()`

/** Runs in the browser: the whole picture as it is now. */
const picture = `document.querySelector('.strip canvas').toDataURL()`

/** Runs in the browser: the strongest line of what is being played. */
const loudestHz = `(() => {
  const levels = new Float32Array(window.analyser.frequencyBinCount)
  window.analyser.getFloatFrequencyData(levels)
  const loudest = levels.indexOf(Math.max(...levels))
  return levels[loudest] < -60 ? 0 : (loudest * window.analyser.context.sampleRate) / window.analyser.fftSize
})()`

/** Runs in the browser: a line for each place that breaks a rule. */
const problems = `axe.run().then(({ violations }) => violations.flatMap(({ id, nodes }) =>
  nodes.map(({ html, failureSummary }) => id + ': ' + html.slice(0, 200) + ' ' + failureSummary)))`
