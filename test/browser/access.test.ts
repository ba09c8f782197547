import { createServer, type Server } from 'node:http'
import type { AddressInfo } from 'node:net'
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core'
import { afterAll, afterEach, beforeAll, beforeEach, describe, expect, it } from 'vitest'
import { browserArgs, executablePath } from './chromium.js'
import { logIn } from './looks.js'
import { openServedValley, password, type ServedValley } from './servedValley.js'

/*
 * Who is refused by the page, in Debian's Chromium: what somebody sees who may not, and what another site gets.
 */

let served: ServedValley
let browser: Browser
let foreign: Server
let context: BrowserContext
let runs = 0

const hold = (): boolean =>
  (served.valley.core.state().holds ?? []).some(({ source }) => source === 'operator')

async function open(options: Parameters<Browser['newContext']>[0] = {}): Promise<Page> {
  context = await browser.newContext(options)
  const page = await context.newPage()
  page.setDefaultTimeout(60_000)
  await page.goto(`${served.base()}/#/now`)
  return page
}

describe.skipIf(executablePath === undefined)('who is refused in a browser', () => {
  beforeAll(async () => {
    served = await openServedValley()
    browser = await chromium.launch({ executablePath: executablePath!, args: browserArgs })
    // Somebody else's site on this machine: its name leads here by the browser's own rule.
    foreign = createServer((_, response) => {
      response.writeHead(200, { 'content-type': 'text/html' })
      response.end('<!doctype html><title>elsewhere</title>')
    })
    await new Promise<void>((ready) => foreign.listen(0, '127.0.0.1', ready))
  })
  // Tries are counted from anew, and nobody is logged in.
  beforeEach(() => served.serve(`run${++runs}`))
  afterEach(async () => {
    await context.close()
    await served.stopServing()
  })
  afterAll(async () => {
    foreign?.close()
    await browser?.close()
    await served?.close()
  })

  it('a wrong password, and the sixth try, even with the right one', async () => {
    const page = await open()
    await page.goto(`${served.base()}/#/setup`)
    const attempt = async (words: string, said: RegExp): Promise<void> => {
      const answered = page.waitForResponse(/session$/)
      await page.getByLabel('Password').fill(words)
      await page.getByRole('button', { name: 'Log in' }).click()
      await answered
      await page.getByRole('alert').filter({ hasText: said }).waitFor()
    }
    for (let count = 0; count < 5; count++)
      await attempt(`wrong ${count}`, /This is not the password/)
    await attempt(password, /Too many tries: wait \d+ (s|minutes)/)
    await page.goto(`${served.base()}/#/now`)
    await page.locator('.sentence').waitFor()
    expect(await page.getByRole('button', { name: 'Hold sending' }).count()).toBe(0)
  })

  it('another site, with the cookie and without: it changes nothing, and reads nothing', async () => {
    const page = await open()
    await logIn(page, served.base())
    const { port } = foreign.address() as AddressInfo
    // localhost of another port is the same site: the cookie goes along, and the Origin gives it away.
    for (const host of ['localhost', 'elsewhere.example']) {
      const other = await context.newPage()
      // A form goes anywhere without being asked.
      for (const path of ['beacons/status', 'messages', 'session']) {
        const url = `${served.base()}/api/v1/${path}`
        const answered = other.waitForResponse(url)
        await other.goto(`http://${host}:${port}/`)
        await other.evaluate(submitForm(url))
        expect((await answered).status(), `${host} ${path}`).toBe(403)
        await other.getByText('Changes are taken only from this page itself').waitFor()
      }
      await other.goto(`http://${host}:${port}/`)
      // What needs permission beforehand does not get it.
      const got = await other.evaluate<string>(
        `fetch('${served.base()}/api/v1/radios/0/hold', { method: 'PUT', credentials: 'include', headers: { 'content-type': 'application/json' }, body: '{}' })
          .then(() => 'done', () => 'refused')`,
      )
      expect(got, host).toBe('refused')
      const read = await other.evaluate<string>(
        `fetch('${served.base()}/api/v1/config', { credentials: 'include' }).then((one) => one.text(), () => 'refused')`,
      )
      expect(read, host).toBe('refused')
      await other.close()
    }
    expect(hold()).toBe(false)
  })

  it('a forged Origin beside a cookie that is good', async () => {
    const page = await open()
    await logIn(page, served.base())
    const put = (headers: Record<string, string>) =>
      context.request.put(`${served.base()}/api/v1/radios/0/hold`, { headers, data: {} })
    for (const origin of ['http://elsewhere.example', 'null']) {
      const answer = await put({ origin })
      expect(answer.status(), origin).toBe(403)
      expect((await answer.json()).error.code).toBe('origin')
    }
    expect(hold()).toBe(false)
    // The same with its own: it was the Origin that was refused.
    expect((await put({ origin: served.base() })).status()).toBe(204)
    expect(hold()).toBe(true)
    await page.goto(`${served.base()}/#/now`)
    await page.getByRole('button', { name: 'Let it send' }).click()
    await expect.poll(hold, { timeout: 60_000 }).toBe(false)
  })

  it('the page under a name that is not its own', async () => {
    const page = await open()
    const answer = await page.goto(served.base().replace('localhost', 'rebound.example'))
    expect(answer!.status()).toBe(403)
    await page.getByText(/This page is not .*rebound\.example/).waitFor()
  })

  it('a hold without the cookie: the page says so, and nothing is held', async () => {
    const page = await open()
    await logIn(page, served.base())
    await page.goto(`${served.base()}/#/now`)
    const button = page.getByRole('button', { name: 'Hold sending' })
    await button.waitFor()
    await context.clearCookies()
    await button.click()
    await page
      .getByRole('alert')
      .filter({ hasText: /Log in first/ })
      .waitFor()
    expect(hold()).toBe(false)
  })

  it('who comes through a proxy of this machine may not even read', async () => {
    const page = await open({ extraHTTPHeaders: { 'x-forwarded-for': '127.0.0.1' } })
    await page.getByText('To read this page, log in.').waitFor()
    expect(await page.locator('.sentence, nav, .strip').count()).toBe(0)
    const status = await page.evaluate<number>(
      `fetch('/api/v1/events').then(({ status }) => status)`,
    )
    expect(status).toBe(401)
  })
})

/** Runs in the browser. */
const submitForm = (url: string): string => `(() => {
  const form = Object.assign(document.createElement('form'), { method: 'post', enctype: 'text/plain', action: '${url}' })
  document.body.append(form)
  form.submit()
})()`
