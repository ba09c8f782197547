interface Held {
  readonly element: HTMLElement
  readonly key: string | undefined
  readonly href: string | null
}

/**
 * Whoever goes by keyboard stays where he is when lines come and go: what had the focus and was moved, or is another element
 * now, gets it again. What has left its list is followed by the end of that, and at last by the content.
 */
export function keepFocus(): void {
  let held: Held | undefined
  document.addEventListener('focusin', ({ target }) => {
    const element = target as HTMLElement
    const key = element.closest<HTMLElement>('[data-key]')?.dataset.key
    held = { element, key, href: element.getAttribute('href') }
  })
  // Whoever takes it away himself does not want it back.
  document.addEventListener('pointerdown', () => {
    held = undefined
  })
  new MutationObserver((changes) => {
    if (held === undefined || document.activeElement !== document.body) return
    const { element } = held
    const gone = changes.find(({ removedNodes }) =>
      [...removedNodes].some((node) => node.contains(element)),
    )
    if (gone !== undefined) again(held, gone.target as Element)?.focus({ preventScroll: true })
  }).observe(document.body, { childList: true, subtree: true })
}

/** @param list that it was in */
function again({ element, key, href }: Held, list: Element): HTMLElement | undefined {
  if (element.isConnected) return element
  const links = (within: ParentNode): HTMLElement[] => [
    ...within.querySelectorAll<HTMLElement>('a[href], button'),
  ]
  const line = key === undefined ? null : document.querySelector(`[data-key="${CSS.escape(key)}"]`)
  const same = line && links(line).find((one) => one.getAttribute('href') === href)
  const fallback = document.querySelector<HTMLElement>('#content') ?? undefined
  return same ?? (list.isConnected ? links(list).at(-1) : undefined) ?? fallback
}
