import type { ComponentChild } from 'preact'
import { useEffect, useState } from 'preact/hooks'
import { get } from './api'
import { changes } from './model'
import { words } from './settings'

const lookMs = 2500

/** Reads a path now, and again when something may have changed since, not more often than every few seconds. */
export function useReading<Value>(
  path: string,
  everyMs = lookMs,
): {
  readonly value: Value | undefined
  readonly why: string | undefined
} {
  const [got, setGot] = useState<{ path: string; value?: Value; why?: string }>({ path })
  useEffect(() => {
    let isWanted = true
    let seen = -1
    const look = (): void => {
      if (changes.value === seen || document.hidden) return
      seen = changes.value
      get<Value>(path).then(
        (value) => isWanted && setGot({ path, value }),
        (error: Error) => isWanted && setGot({ path, why: error.message }),
      )
    }
    look()
    const timer = setInterval(look, everyMs)
    return () => {
      isWanted = false
      clearInterval(timer)
    }
  }, [path, everyMs])
  return got.path === path
    ? { value: got.value, why: got.why }
    : { value: undefined, why: undefined }
}

/** What a view shows as long as there is nothing to show. */
export function Waiting({ why }: { readonly why: string | undefined }): ComponentChild {
  return why === undefined ? (
    <p class="quiet loading">{words.value.loading}</p>
  ) : (
    <p class="mark wrong">{words.value.failed(why)}</p>
  )
}
