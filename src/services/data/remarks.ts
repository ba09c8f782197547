/**
 * A text without the remarks of Markdown, XML and HTML, `<!-- … -->`; one that does not end is no remark.
 * @param instead what stands in a remark's place
 */
export function withoutRemarks(text: string, instead: (remark: string) => string): string {
  let kept = ''
  let from = 0
  for (;;) {
    const begin = text.indexOf('<!--', from)
    const end = begin === -1 ? -1 : text.indexOf('-->', begin + 4)
    if (end === -1) return kept + text.slice(from)
    kept += text.slice(from, begin) + instead(text.slice(begin, end + 3))
    from = end + 3
  }
}
