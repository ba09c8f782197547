/** How a node starts after starts that failed. */
export interface SafeStart {
  /** the database is left as it is, unopened: nothing is kept, and no mail is taken */
  readonly withoutDatabase: boolean
  /** for the log and the operator */
  readonly words: string
}

/** Failed starts in a row after which what earlier runs left behind is not taken up, and the database is not opened at all. */
const withoutPastFrom = 3
const withoutDatabaseFrom = 5

/**
 * What three starts in a row did not survive may lie in the database: then the node starts without what earlier runs left
 * unanswered, and if that does not help without the database. It hears, answers and serves KISS clients either way.
 * @returns undefined for an ordinary start
 */
export function safeStart(failedStarts: number, database: string): SafeStart | undefined {
  if (failedStarts < withoutPastFrom) return undefined
  const withoutDatabase = failedStarts >= withoutDatabaseFrom
  const what = withoutDatabase
    ? `${database} is not opened: nothing is kept, and no mail is taken`
    : `what earlier runs left unanswered in ${database} stays there: messages, questions and mail under way wait`
  return {
    withoutDatabase,
    words: `SAFE START after ${failedStarts} starts that failed: ${what}; the next start after a minute of running is an ordinary one`,
  }
}
