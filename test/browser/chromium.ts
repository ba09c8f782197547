import { existsSync, readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import type { Page } from 'playwright-core'

/** Debian's Chromium; undefined where there is none. */
export const executablePath = ['/usr/bin/chromium', '/usr/bin/chromium-browser'].find(existsSync)

/** What is played needs no click first; names that end in .example lead here, as those of whoever rebinds a name of his own. */
export const browserArgs = [
  '--no-sandbox',
  '--autoplay-policy=no-user-gesture-required',
  '--host-resolver-rules=MAP *.example 127.0.0.1',
]

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8')

/** A line for each place that breaks a rule of axe-core. Its script is given to a document once. */
export async function axeProblems(page: Page): Promise<string[]> {
  // The content's rules do not hold for who tests them.
  if (!(await page.evaluate<boolean>('window.axe !== undefined'))) await page.evaluate(axe)
  return page.evaluate<string[]>(problems)
}

const problems = `axe.run({ resultTypes: ['violations'] }).then(({ violations }) => violations.flatMap(({ id, nodes }) =>
  nodes.map(({ html, failureSummary }) => id + ': ' + html.slice(0, 200) + ' ' + failureSummary)))`
