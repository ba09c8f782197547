/** Names of keys whose values open something; a number or a switch does not. */
const secretKeys = /(password|passphrase|secret|token|sha256|hash|code$|key$)/i

/** The configuration as it was understood, without what must stay secret: those values become '(set)' or '(not set)'. */
export function configView(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(configView)
  if (typeof value === 'string') return value.replace(/\/\/[^/@\s]*@/g, '//(set)@')
  if (typeof value !== 'object' || value === null) return value
  return Object.fromEntries(
    Object.entries(value).map(([key, inner]) => [
      key,
      secretKeys.test(key) && typeof inner === 'string'
        ? inner === ''
          ? '(not set)'
          : '(set)'
        : configView(inner),
    ]),
  )
}
