/** What the operating system says of a failed call, without its code and the call: 'no such file or directory'. */
export function systemWords(cause: unknown): string {
  const message = cause instanceof Error ? cause.message : String(cause)
  if (message.startsWith('EISDIR')) return 'a directory'
  return message.replace(/^E[A-Z0-9]+: /, '').replace(/, [a-z]+( '.*')?$/s, '')
}
