// A program that keys and feeds until something ends it; started by tests that are that something.
import { guardedLine } from '../../dist/src/ptt/guardedLine.js'
import { systemClock } from '../../dist/src/runtime/systemClock.js'

const line = guardedLine({ ptt: JSON.parse(process.argv[2]), clock: systemClock() })
line.open({
  onReady: () => void line.key(),
  onCut: () => {},
  onLost: () => {},
  onFault: () => {},
})
