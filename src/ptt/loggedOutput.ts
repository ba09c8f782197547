import type { EdgeLog } from './edgeLog.js'
import type { PttOutput } from './pttOutput.js'

/**
 * Any output, with its edges written down: 'keyed' and 'unkeyed' once the line has them.
 * On top of `noneOutput` this is the output of kind log.
 */
export function loggedOutput(output: PttOutput, log: EdgeLog): PttOutput {
  let on = false
  return {
    name: output.name,
    async key() {
      await output.key()
      on = true
      log.write('keyed')
    },
    async unkey() {
      await output.unkey()
      if (on) log.write('unkeyed')
      on = false
    },
    async close() {
      await output.close()
      if (on) log.write('unkeyed', 'at the end')
      on = false
      log.close()
    },
  }
}
