// Every view of the page in each width, look and state: axe-core, width, keyboard; a picture of each for a second reader.
import { mkdirSync } from 'node:fs'
import { join } from 'node:path'
import { chromium } from 'playwright-core'
import { browserArgs, executablePath } from '../browser/chromium.js'
import {
  eventfulPast,
  everyLook,
  keyboardProblems,
  nameOf,
  openLookingPages,
  problemsOf,
  show,
  someLooks,
  viewsOf,
} from '../browser/looks.js'
import { openServedValley } from '../browser/servedValley.js'
import type { Bench } from './bench.js'

export const bench: Bench = {
  name: 'looks',
  about:
    'every view of the page by axe-core, in width and by keyboard; --full: all looks together, with pictures',
  async run({ quick, output }) {
    if (executablePath === undefined) {
      console.log('There is no Chromium here (Debian: apt install chromium).')
      return
    }
    const served = await openServedValley({ past: eventfulPast })
    await served.serve('looks')
    const browser = await chromium.launch({ executablePath, args: browserArgs })
    const pages = openLookingPages(browser, served.base())
    const folder = join(output, 'looks')
    mkdirSync(folder, { recursive: true })
    let [viewCount, problemCount] = [0, 0]
    try {
      for (const look of quick ? someLooks : everyLook) {
        const startedMs = performance.now()
        const page = await pages.of(look)
        const found: string[] = []
        for (const view of viewsOf(look)) {
          viewCount++
          await show(page, served.base(), view)
          const name = `${view.replace('/', '-')}-${nameOf(look)}`
          if (!quick) await page.screenshot({ path: join(folder, `${name}.png`), fullPage: true })
          found.push(...(await problemsOf(page)).map((problem) => `${view}: ${problem}`))
        }
        // What Tab reaches does not depend on colours.
        if (look.colorScheme === 'light' && look.forcedColors === undefined) {
          await page.emulateMedia({ reducedMotion: 'reduce' })
          for (const view of viewsOf(look)) {
            await show(page, served.base(), view)
            found.push(...(await keyboardProblems(page)).map((problem) => `${view}: ${problem}`))
          }
          await page.emulateMedia({ reducedMotion: 'no-preference' })
        }
        problemCount += found.length
        const seconds = ((performance.now() - startedMs) / 1000).toFixed(0)
        console.log(`${nameOf(look).padEnd(28)} ${found.length} problems, ${seconds} s`)
        for (const problem of new Set(found)) console.log(`    ${problem}`)
      }
      console.log(`\n${viewCount} views looked at, ${problemCount} problems`)
      if (problemCount > 0) process.exitCode = 1
    } finally {
      await pages.close()
      await browser.close()
      await served.close()
    }
  },
}
