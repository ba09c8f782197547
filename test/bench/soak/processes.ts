import { readdirSync, readFileSync, readlinkSync } from 'node:fs'
import { basename } from 'node:path'

/** What a process and those that it started take (Linux). */
export interface Part {
  readonly name: string
  /** proportional set size: shared pages by their share, MB */
  readonly pssMb: number
  /** pages that are its own */
  readonly privateMb: number
  /** memory that it asked for: without files, whose pages are one program's own as soon as the last other user of them ends */
  readonly anonymousMb: number
  readonly handles: number
}

/** A process with all its descendants; those that have ended meanwhile are left out. */
export function partsOf(pid: number): Part[] {
  const children = childrenByParent()
  const parts: Part[] = []
  const add = (id: number): void => {
    const part = partOf(id, id === pid)
    if (part !== undefined) parts.push(part)
    for (const child of children.get(id) ?? []) add(child)
  }
  add(pid)
  return parts
}

function partOf(pid: number, isFirst: boolean): Part | undefined {
  try {
    const words = readFileSync(`/proc/${pid}/cmdline`, 'utf8').split('\0')
    const rollup = readFileSync(`/proc/${pid}/smaps_rollup`, 'utf8')
    const kB = (name: string): number =>
      Number(new RegExp(`^${name}:\\s*(\\d+) kB`, 'm').exec(rollup)?.[1] ?? 0)
    return {
      name: isFirst ? 'program' : nameOf(pid, words),
      pssMb: kB('Pss') / 1024,
      privateMb: (kB('Private_Clean') + kB('Private_Dirty')) / 1024,
      anonymousMb: (kB('Pss_Anon') + kB('Pss_Shmem')) / 1024,
      handles: readdirSync(`/proc/${pid}/fd`).length,
    }
  } catch {
    return undefined
  }
}

function nameOf(pid: number, words: readonly string[]): string {
  // the executable of a script is its interpreter; arecord and aplay are one file with two names
  const program = basename(words[0] || readlinkSync(`/proc/${pid}/exe`))
  if (words.some((word) => word.includes('deadManHelper'))) return 'helper of the key line'
  return /^(sh|dash|bash)$/.test(program) ? 'waiting shells' : program
}

function childrenByParent(): Map<number, number[]> {
  const children = new Map<number, number[]>()
  for (const entry of readdirSync('/proc')) {
    if (!/^\d+$/.test(entry)) continue
    try {
      const stat = readFileSync(`/proc/${entry}/stat`, 'utf8')
      const parent = Number(stat.slice(stat.lastIndexOf(')') + 2).split(' ')[1])
      children.set(parent, [...(children.get(parent) ?? []), Number(entry)])
    } catch {
      // it has ended
    }
  }
  return children
}
