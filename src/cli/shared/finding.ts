/** Something that `check` found. */
export interface Finding {
  /** mend: it will not work, or must not be done, like this; look: only the licensee can judge it */
  readonly severity: 'mend' | 'look'
  /** a key, a file, a device */
  readonly about: string
  /** what is wrong, and what to do */
  readonly text: string
}

export const mend = (about: string, text: string): Finding => ({ severity: 'mend', about, text })
export const look = (about: string, text: string): Finding => ({ severity: 'look', about, text })

/** Text in lines of at most `width` columns, each after `indent`. */
export function wrapped(text: string, indent: string, width = 80): string[] {
  const lines: string[] = []
  let line = indent
  for (const word of text.split(' ')) {
    if (line.length > indent.length && line.length + 1 + word.length > width) {
      lines.push(line)
      line = indent
    }
    line += (line.length > indent.length ? ' ' : '') + word
  }
  return [...lines, line]
}
