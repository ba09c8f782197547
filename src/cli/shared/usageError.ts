import { Failure } from '../../runtime/failure.js'

/** The command line itself is wrong: exit status 2. */
export class UsageError extends Failure {}
