import type { Store } from '../../src/store/store.js'

/** A store that undoes what is done under some names, as a full disk does, and does not read what is read under them. */
export function failingStore(store: Store, fails: (doing: string) => boolean): Store {
  const check = (doing: string): void => {
    if (fails(doing)) throw new Error('disk I/O error')
  }
  return {
    ...store,
    durably: (doing, work) =>
      store.durably(doing, () => {
        const value = work()
        check(doing)
        return value
      }),
    reading: (doing, otherwise, read) =>
      store.reading(doing, otherwise, () => {
        check(doing)
        return read()
      }),
  }
}
