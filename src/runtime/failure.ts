/** What an edge (a file, a device, a config, a socket) says when it cannot go on. */
export type FailureDetail = FailureText & {
  /** stable short name, for logs and tests: 'wav-not-audio', 'config-invalid' */
  readonly code: string
  readonly cause?: unknown
}

/** The part of it that a person reads. */
export type FailureText = FailureBase & (WrongValue | Problem)

interface FailureBase {
  /** the thing and the place in it: a file, a key, a line, a device */
  readonly subject: string
  /** what the user can do about it */
  readonly advice?: string
}

/** There is a value, and it is not what it should be. */
interface WrongValue {
  readonly got: string
  readonly expected: string
  readonly problem?: never
}

/** Something could not be done: 'cannot be read: no such file'. */
interface Problem {
  readonly problem: string
  readonly got?: never
  readonly expected?: never
}

/** An error meant for a person: names the thing, what is wrong with it, and what to do. */
export class Failure extends Error {
  readonly code: string
  readonly detail: FailureDetail

  constructor(detail: FailureDetail) {
    super(describeFailure(detail), { cause: detail.cause })
    this.name = 'Failure'
    this.code = detail.code
    this.detail = detail
  }

  /** what is wrong, without the subject, and without what to do */
  get inShort(): string {
    return this.detail.problem ?? this.detail.got
  }
}

/** `subject: got X, expected Y; advice`, or `subject: problem; advice`. */
function describeFailure({ subject, advice, ...detail }: FailureDetail): string {
  const problem = detail.problem ?? `got ${detail.got}, expected ${detail.expected}`
  return `${subject}: ${problem}${advice === undefined ? '' : `; ${advice}`}`
}
