/** Counts by name. */
export class Counts {
  private readonly counts = new Map<string, number>()

  static from(entries: readonly (readonly [string, number])[]): Counts {
    const counts = new Counts()
    for (const [name, count] of entries) counts.add(name, count)
    return counts
  }

  add(name: string, by = 1): void {
    this.counts.set(name, (this.counts.get(name) ?? 0) + by)
  }

  of(name: string): number {
    return this.counts.get(name) ?? 0
  }

  addAll(others: Counts): void {
    for (const [name, count] of others.counts) this.add(name, count)
  }

  entries(): [string, number][] {
    return [...this.counts].sort(([a], [b]) => a.localeCompare(b))
  }
}
