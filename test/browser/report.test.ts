import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { chromium } from 'playwright-core'
import { afterAll, beforeAll, describe, expect, it } from 'vitest'
import { decodeCommand } from '../../src/cli/decode/decode.js'
import { runCommand } from '../cli/commandBench.js'
import { root } from '../tidy/sources.js'
import { axeProblems, browserArgs, executablePath } from './chromium.js'

/*
 * The report of recordings as people open it: a file, in Debian's Chromium.
 */

let folder: string
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-report-'))
})
afterAll(() => rmSync(folder, { recursive: true }))

describe.skipIf(executablePath === undefined)('the report in a browser', () => {
  it('shows its pictures, breaks no rule of axe, scrolls nothing sideways, in every look', async () => {
    const recordings = join(root, 'samples/recordings')
    await runCommand(decodeCommand, [recordings, '--report', join(folder, 'all.html')])
    const browser = await chromium.launch({
      executablePath: executablePath!,
      args: browserArgs,
    })
    try {
      const found: string[] = []
      for (const [width, look] of [
        [320, 'light'],
        [390, 'dark'],
        [1280, 'ink'],
      ] as const) {
        const page = await browser.newPage({ viewport: { width, height: 800 } })
        page.on('console', (message) => found.push(`${width}: ${message.text()}`))
        page.on('request', (request) => {
          if (!/^(file|data):/.test(request.url())) found.push(`asked for ${request.url()}`)
        })
        await page.goto(`file://${join(folder, 'all.html')}`)
        // From the index to the recording with something that was lost.
        for (const isIndex of [true, false]) {
          if (!isIndex) await page.getByRole('link', { name: /fr05/ }).click()
          await page.locator(`#look-${look}`).check()
          found.push(...(await axeProblems(page)))
          expect(await page.evaluate('document.documentElement.scrollWidth')).toBe(width)
        }
        await page.locator('.entry.damaged').waitFor()
        const sizes = await page.evaluate<number[]>(
          `[...document.images].map((image) => image.naturalWidth)`,
        )
        expect(sizes.length).toBeGreaterThan(0)
        expect(sizes.every((size) => size > 0)).toBe(true)
        await page.close()
      }
      expect(found).toEqual([])
    } finally {
      await browser.close()
    }
  })
})
