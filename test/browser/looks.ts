import type { Browser, BrowserContext, Page } from 'playwright-core'
import type { Valley } from '../../src/cli/demo/valley.js'
import { axeProblems } from './chromium.js'
import { password } from './servedValley.js'

/*
 * The page in each width, look and state: what axe-core finds, what scrolls sideways, what no keyboard reaches.
 */

export interface Look {
  /** CSS pixels; 1280 px at 400 % are 320 */
  readonly width: number
  readonly height?: number
  readonly colorScheme: 'light' | 'dark'
  readonly forcedColors?: 'active'
  readonly who: Who
}

/** 'nobody': may not even read, as through a proxy; 'reader': of this machine; 'operator': logged in */
const everyWho = ['nobody', 'reader', 'operator'] as const
type Who = (typeof everyWho)[number]

const widths = [320, 390, 1280] as const
/** 1280 by 1024 pixels at 400 % */
const zoomed = { width: 320, height: 256 } as const

/** All of them together: minutes. */
export const everyLook: readonly Look[] = everyWho.flatMap((who) =>
  [...widths.map((width) => ({ width })), zoomed].flatMap((size): Look[] => [
    { ...size, who, colorScheme: 'light' },
    { ...size, who, colorScheme: 'dark' },
    { ...size, who, colorScheme: 'light', forcedColors: 'active' },
  ]),
)

/** Each width, each look and each state once. */
export const someLooks: readonly Look[] = [
  { width: 320, colorScheme: 'light', who: 'reader' },
  { width: 390, colorScheme: 'dark', who: 'operator' },
  { width: 1280, colorScheme: 'light', forcedColors: 'active', who: 'reader' },
  { ...zoomed, colorScheme: 'dark', who: 'nobody' },
]

export const views = [
  'now',
  'stations',
  'stations/Q4TRL-7',
  'conversations',
  'mail',
  'log',
  'setup',
  'try',
] as const

export const nameOf = ({ width, height, colorScheme, forcedColors, who }: Look): string =>
  `${width}${height ? `x${height}` : ''}-${forcedColors ? 'forced' : colorScheme}-${who}`

/** Pages that are opened once and used again for each look: a browser that starts anew each time takes minutes. */
export interface LookingPages {
  /** a page in that look, which shows the present */
  of(look: Look): Promise<Page>
  close(): Promise<void>
}

export function openLookingPages(browser: Browser, base: string): LookingPages {
  const pages = new Map<Who, Promise<Page>>()
  const contexts: BrowserContext[] = []
  const open = async (who: Who): Promise<Page> => {
    const forwarded = { 'x-forwarded-for': '192.0.2.9' }
    const context = await browser.newContext({
      ...(who === 'nobody' && { extraHTTPHeaders: forwarded }),
    })
    contexts.push(context)
    const page = await context.newPage()
    page.setDefaultTimeout(60_000)
    await page.goto(`${base}/#/now`)
    if (who === 'operator') await logIn(page, base)
    return page
  }
  return {
    async of(look) {
      if (!pages.has(look.who)) pages.set(look.who, open(look.who))
      const page = await pages.get(look.who)!
      await page.setViewportSize({ width: look.width, height: look.height ?? 844 })
      await page.emulateMedia({
        colorScheme: look.colorScheme,
        forcedColors: look.forcedColors ?? 'none',
      })
      return page
    },
    async close() {
      for (const context of contexts) await context.close()
    },
  }
}

export async function logIn(page: Page, base: string): Promise<void> {
  await page.goto(`${base}/#/setup`)
  await page.getByLabel('Password').fill(password)
  await page.getByRole('button', { name: 'Log in' }).click()
  await page.getByRole('button', { name: 'Log out' }).waitFor()
}

/** Who may not read sees one view, whatever he asks for. */
export const viewsOf = ({ who }: Look): readonly string[] => (who === 'nobody' ? ['now'] : views)

export async function show(page: Page, base: string, view: string): Promise<void> {
  await page.goto(`${base}/#/${view}`)
  // The page hears of another address a little later; until then the former view is there.
  await page.evaluate('new Promise((shown) => requestAnimationFrame(() => setTimeout(shown)))')
  const inNav = page.locator(`nav a[aria-current][href="#/${view.split('/')[0]}"]`)
  await inNav.or(page.getByText('To read this page, log in.')).first().waitFor()
  await page.locator('main h2, main form').first().waitFor()
  // What a view reads is there before it is judged.
  await page.locator('main .loading').first().waitFor({ state: 'detached' })
}

/** What breaks a rule in this view as it stands: of axe-core, and of width. */
export async function problemsOf(page: Page): Promise<string[]> {
  const found = await axeProblems(page)
  const { scroll, client } = await page.evaluate<{ scroll: number; client: number }>(
    '({ scroll: document.documentElement.scrollWidth, client: document.documentElement.clientWidth })',
  )
  return scroll > client ? [...found, `scrolls sideways: ${scroll} of ${client} px`] : found
}

/** More would be a trap, or a list without end. */
const tabsMax = 900

/**
 * Tab from the top: each thing to press is reached, in its order, is in sight, and shows that it has the focus. To be called in a
 * page without motion, where no line goes to another list meanwhile.
 */
export async function keyboardProblems(page: Page): Promise<string[]> {
  await page.evaluate(markTargets)
  const found: string[] = []
  const reached: number[] = []
  let isInOrder = true
  for (let count = 0; count < tabsMax; count++) {
    await page.keyboard.press('Tab')
    const at = await page.evaluate<Focus>(focused)
    // Behind its end some go on with the browser, others at the top.
    if (at.isOver || (at.target !== undefined && at.target === reached[0])) break
    isInOrder &&= !at.isBackwards
    // What came meanwhile has no number.
    if (at.target !== undefined) reached.push(at.target)
    if (!at.isShown) found.push(`the focus cannot be seen: ${at.html}`)
    if (!at.isInSight) found.push(`has the focus out of sight: ${at.html}`)
  }
  const unreached = await page.evaluate<string[]>(`(${unreachedOf})(${JSON.stringify(reached)})`)
  found.push(...unreached.map((html) => `Tab does not reach: ${html}`))
  if (!isInOrder) found.push('Tab does not go in the order of the page')
  return found
}

interface Focus {
  readonly isOver: boolean
  readonly target?: number
  /** it stands before what had the focus last */
  readonly isBackwards?: boolean
  readonly isShown: boolean
  readonly isInSight: boolean
  readonly html: string
}

/** Runs in the browser: numbers all that can be pressed; the focus begins at the top. */
const markTargets = `(() => {
  document.querySelectorAll('[data-target]').forEach((one) => delete one.dataset.target)
  window.hadFocus = undefined
  const all = [...document.querySelectorAll('a[href], button, input, select, textarea, summary')]
  all.filter((one) => one.checkVisibility() && !one.disabled).forEach((one, at) => { one.dataset.target = at })
  // Tab goes on from what had the focus last.
  document.querySelector('#top-of-all')?.remove()
  const top = Object.assign(document.createElement('span'), { id: 'top-of-all', tabIndex: -1 })
  document.body.prepend(top)
  top.focus()
})()`

/** Runs in the browser. */
const focused = `(() => {
  const one = document.activeElement
  if (one === null || one === document.body) return { isOver: true }
  const { outlineStyle, outlineWidth } = getComputedStyle(one)
  const box = one.getBoundingClientRect()
  const before = window.hadFocus
  window.hadFocus = one
  return {
    isOver: false,
    isBackwards: before?.isConnected === true && (before.compareDocumentPosition(one) & 2) !== 0,
    target: one.dataset.target === undefined ? undefined : Number(one.dataset.target),
    isShown: outlineStyle !== 'none' && parseFloat(outlineWidth) >= 2,
    isInSight: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
    html: one.outerHTML.slice(0, 120),
  }
})()`

/** Runs in the browser; what was taken away meanwhile is not missed. */
const unreachedOf = `(reached) => [...document.querySelectorAll('[data-target]')]
  .filter((one) => one.checkVisibility() && !reached.includes(Number(one.dataset.target)))
  .map((one) => one.outerHTML.slice(0, 120))`

/** Something for each view to show: mail and notices, what was refused, a call for help, a station at the edge. */
export async function eventfulPast(valley: Valley): Promise<void> {
  const { clock, tryIt } = valley
  const texts = [
    'post Water at the hut is not for drinking',
    'leave Q2VAN-9 Meet at the hut at six <b>sharp</b>',
    'repeaters 2',
    'zzxq flurb',
  ]
  // A simulated second costs a third of a real one.
  for (const text of texts) {
    tryIt.send(text)
    await clock.advanceToAsync(clock.monotonicMs() + 11_000)
  }
}
