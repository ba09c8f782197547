import { type Browser, chromium } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { browserArgs, executablePath } from './chromium.js'
import {
  keyboardProblems,
  type LookingPages,
  nameOf,
  openLookingPages,
  problemsOf,
  show,
  someLooks,
  viewsOf,
} from './looks.js'
import { openServedValley, type ServedValley } from './servedValley.js'

/*
 * Each view in each width, look and state once; `npm run bench -- looks --full` tries all of them together.
 */

let served: ServedValley
let browser: Browser
let pages: LookingPages

describe.skipIf(executablePath === undefined)('how the page looks in a browser', () => {
  beforeAll(async () => {
    served = await openServedValley()
    await served.serve('looks')
    browser = await chromium.launch({ executablePath: executablePath!, args: browserArgs })
    pages = openLookingPages(browser, served.base())
    // Something for each view to show.
    served.valley.tryIt.send('post Water at the hut is not for drinking')
  })
  afterAll(async () => {
    await pages?.close()
    await browser?.close()
    await served?.close()
  })

  it.each(someLooks.map((look) => [nameOf(look), look] as const))(
    '%s: axe finds nothing, nothing scrolls sideways',
    async (_, look) => {
      const page = await pages.of(look)
      const found: string[] = []
      for (const view of viewsOf(look)) {
        await show(page, served.base(), view)
        found.push(...(await problemsOf(page)).map((problem) => `${view}: ${problem}`))
      }
      expect(found).toEqual([])
    },
  )

  it('who wants no motion gets the list alone', async () => {
    const page = await pages.of({ width: 1280, colorScheme: 'light', who: 'reader' })
    await page.emulateMedia({ reducedMotion: 'reduce' })
    await page.reload()
    await page.locator('.strip-older li').first().waitFor()
    expect(await page.locator('canvas').count()).toBe(0)
  })

  it('everything can be reached by keyboard, in its order, and in sight', async () => {
    const page = await pages.of({ width: 390, colorScheme: 'light', who: 'operator' })
    await page.emulateMedia({ reducedMotion: 'reduce' })
    const found: string[] = []
    // In a strip lines move meanwhile; `npm run bench -- looks` takes those views, too.
    for (const view of ['conversations', 'log', 'setup']) {
      await show(page, served.base(), view)
      found.push(...(await keyboardProblems(page)).map((problem) => `${view}: ${problem}`))
    }
    expect(found).toEqual([])
  })

  it('a question is asked without a mouse', async () => {
    const page = await pages.of({ width: 390, colorScheme: 'dark', who: 'operator' })
    await page.goto(`${served.base()}/#/try`)
    await page.reload()
    await page.locator('.hand-held').waitFor()
    await page.keyboard.press('Tab')
    await page.keyboard.press('Enter')
    expect(await page.evaluate('document.activeElement?.id')).toBe('content')
    await page.keyboard.press('Tab')
    await page.keyboard.type('clock')
    await page.keyboard.press('Enter')
    await page.locator('.screen li', { hasText: 'clock' }).first().waitFor()
  })
})
