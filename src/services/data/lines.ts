/** The lines of a text one after another, whatever ends them, so that a large file is not held twice. */
export function* linesOf(text: string): Generator<string> {
  let from = 0
  for (const end of text.matchAll(/\r\n?|\n/g)) {
    yield text.slice(from, end.index)
    from = end.index + end[0].length
  }
  yield text.slice(from)
}
