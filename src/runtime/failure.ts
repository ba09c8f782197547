/** What an edge (a file, a device, a config, a socket) says when it cannot go on. */
export interface FailureDetail {
  /** stable short name, for logs and tests: 'wav-not-audio', 'config-invalid' */
  readonly code: string
  /** the thing and the place in it: a file, a key, a line, a device */
  readonly subject: string
  readonly got: string
  readonly expected: string
  /** what the user can do about it */
  readonly advice?: string
  readonly cause?: unknown
}

/** An error meant for a person: names the thing, what was got, what was expected, and what to do. */
export class Failure extends Error {
  readonly code: string
  readonly detail: FailureDetail

  constructor(detail: FailureDetail) {
    super(describeFailure(detail), { cause: detail.cause })
    this.name = 'Failure'
    this.code = detail.code
    this.detail = detail
  }
}

/** One line: `subject: got X, expected Y; advice`. */
function describeFailure(detail: FailureDetail): string {
  const advice = detail.advice === undefined ? '' : `; ${detail.advice}`
  return `${detail.subject}: got ${detail.got}, expected ${detail.expected}${advice}`
}
