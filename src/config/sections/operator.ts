import { z } from 'zod'

/** How `ridgepost hold`, `release`, `state`, `say` and `beacon` reach the running node. */
export const operatorSection = z.strictObject({
  /** path of a Unix socket, which the service's user and group may use; relative to the configuration file; empty for none @example "/run/ridgepost/operator" */
  socket: z.string().max(100).default(''),
})
