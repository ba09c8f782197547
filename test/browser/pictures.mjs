// Makes README's picture from the real page: npm run pictures. It runs the demonstration's valley, has its hand-held ask, and
// needs Debian's chromium. Run npm run build first.
import { spawn } from 'node:child_process'
import { mkdirSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { chromium } from 'playwright-core'

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..')
const folder = join(root, 'samples', 'pictures')
const program = join(root, 'dist', 'bundle', 'ridgepost.js')

const demo = spawn(process.execPath, [program, 'demo', '--page', '0'], {
  stdio: ['ignore', 'pipe', 'inherit'],
})
const address = await new Promise((resolve, reject) => {
  let told = ''
  demo.stdout.on('data', (chunk) => {
    told += chunk
    const found = /http:\/\/localhost:\d+\//.exec(told)
    if (found) resolve(found[0])
  })
  demo.on('exit', (status) => reject(new Error(`the demonstration ended with ${status}`)))
})
const browser = await chromium.launch({
  executablePath: '/usr/bin/chromium',
  args: ['--no-sandbox'],
})
try {
  const page = await browser.newPage({
    viewport: { width: 1100, height: 960 },
    colorScheme: 'light',
  })
  await page.goto(`${address}#/try`)
  await page.getByRole('img', { name: /Strongest now/ }).waitFor()
  await page.waitForTimeout(12_000)
  await page.getByLabel(/^Ask something/).fill('repeaters 2')
  await page.getByRole('button', { name: 'Send' }).click()
  await page.locator('.screen li.ours').nth(1).waitFor({ timeout: 60_000 })
  await page.waitForTimeout(3000)
  mkdirSync(folder, { recursive: true })
  await page.screenshot({ path: join(folder, 'page.png') })
} finally {
  await browser.close()
  demo.removeAllListeners('exit')
  demo.kill('SIGINT')
}
