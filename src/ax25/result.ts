/**
 * What pure code returns where the input decides whether there is a value; `reason` is meant for a
 * person.
 */
export type Result<Value> =
  | { readonly ok: true; readonly value: Value }
  | { readonly ok: false; readonly reason: string }

export const good = <Value>(value: Value): Result<Value> => ({ ok: true, value })

export const bad = (reason: string): { readonly ok: false; readonly reason: string } => ({
  ok: false,
  reason,
})
