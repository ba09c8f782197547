import { type Browser, chromium } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { axeProblems, browserArgs, executablePath } from './chromium.js'
import { openServedValley, type ServedValley } from './servedValley.js'

/*
 * The page of a station with several radios.
 */

let served: ServedValley
let browser: Browser

describe.skipIf(executablePath === undefined)('several radios', () => {
  beforeAll(async () => {
    served = await openServedValley({ second: '70 cm' })
    await served.serve('several')
    browser = await chromium.launch({ executablePath: executablePath!, args: browserArgs })
  })
  afterAll(async () => {
    await browser?.close()
    await served?.close()
  })

  it('are on one strip, each line with its radio; or one is chosen', async () => {
    const page = await browser.newPage({ viewport: { width: 320, height: 844 } })
    // A starved machine takes its time to show the first of it.
    page.setDefaultTimeout(170_000)
    await page.goto(`${served.base()}/#/now`)
    await page.locator('canvas[aria-label^="70 cm: "]').waitFor()
    expect(await page.locator('canvas').count()).toBe(2)
    const told = {
      atWallMs: served.valley.clock.wallMs(),
      kind: 'asked',
      station: 'Q1SEV',
    } as const
    served.tell({ ...told, text: 'sun', radio: 1 })
    const line = page.locator('.line', { hasText: '70 cm: sun' })
    await line.first().waitFor()
    expect(await axeProblems(page)).toEqual([])
    expect(await page.evaluate('document.documentElement.scrollWidth')).toBe(320)
    const choice = page.getByRole('combobox')
    await choice.selectOption('0')
    await page.locator('.line', { hasText: 'Q1SEV' }).first().waitFor({ state: 'detached' })
    expect(await page.locator('canvas').count()).toBe(1)
    await choice.selectOption('1')
    await page.locator('.line', { hasText: 'Q1SEV' }).first().waitFor()
  }, 300_000)
})
