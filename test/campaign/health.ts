import type { NodeLife } from './nodeLife.js'
import type { Oracle } from './oracle.js'

/** Three texts that no service understands in ten minutes, each answered in two transmissions at most, from each of two. */
const loopMessagesMax = 14

/** What is looked at now and then, and at the end of each life. @param loopCount messages of the other node in ten minutes */
export function checkHealth(oracle: Oracle, life: NodeLife, loopCount: number): void {
  const { faultCount } = life
  oracle.check(
    'nothing ends the process',
    faultCount === 0,
    () => `${faultCount} mistakes were caught`,
  )
  const { openMessageCount, waiting } = life.node.state()
  const { pendingCount } = life.store.state()
  const { queuedCount } = life.radio.state()
  oracle.check(
    'queues are bounded',
    openMessageCount <= 2_000 &&
      waiting.length <= 500 &&
      pendingCount <= 20_000 &&
      queuedCount <= 100,
    () => JSON.stringify({ openMessageCount, waiting: waiting.length, pendingCount, queuedCount }),
  )
  oracle.check(
    'machines fall silent',
    loopCount <= loopMessagesMax,
    () => `${loopCount} messages of the other machine in ten minutes`,
  )
  // What ends too early is found when it does.
  oracle.check('nothing expires on a clock that is not trusted', true, () => '')
}
