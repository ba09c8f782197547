import { readFileSync } from 'node:fs'

/** What the process alone takes of memory, MB: shared parts by their share (PSS; Linux). */
export function memoryMb(pid: number): number {
  const found = /^Pss:\s*(\d+) kB/m.exec(readFileSync(`/proc/${pid}/smaps_rollup`, 'utf8'))
  return Number(found![1]) / 1024
}

/** glibc gives each thread that allocates such a stretch, at such an address. */
const arenaBytes = 64 * 2 ** 20
/** V8 asks for memory in pieces of so much, at such addresses. */
const heapPageBytes = 256 * 2 ** 10

/** The same by what it is for, as far as size and place of a mapping tell, MB. */
export function memoryParts(pid: number): Record<string, number> {
  const parts = { 'heaps of JavaScript': 0, 'machine code': 0, malloc: 0, files: 0, others: 0 }
  let part: keyof typeof parts = 'others'
  for (const line of readFileSync(`/proc/${pid}/smaps`, 'utf8').split('\n')) {
    const mapping = /^([0-9a-f]+)-([0-9a-f]+) (\S+) \S+ \S+ \S+\s*(.*)$/.exec(line)
    if (mapping !== null) part = partOf(mapping)
    const pss = /^Pss:\s*(\d+) kB/.exec(line)
    if (pss !== null) parts[part] += Number(pss[1]) / 1024
  }
  return parts

  function partOf([, from, to, rights, name]: RegExpExecArray): keyof typeof parts {
    const start = Number.parseInt(from!, 16)
    const size = Number.parseInt(to!, 16) - start
    if (name === '[heap]') return 'malloc'
    if (name !== '') return 'files'
    if (rights === 'rwxp') return 'machine code'
    if (start % arenaBytes === 0) return 'malloc'
    return size % heapPageBytes === 0 && start % heapPageBytes === 0
      ? 'heaps of JavaScript'
      : 'others'
  }
}
