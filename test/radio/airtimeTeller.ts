import type { openAirtimeFile } from '../../src/radio/airtimeFile.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import type { RadioPort } from '../../src/radio/radioPort.js'

/** @returns what tells an airtime file an event, as the radio does that it follows */
export function tellerOf(airtime: ReturnType<typeof openAirtimeFile>): (event: RadioEvent) => void {
  let tell: (event: RadioEvent) => void = () => {}
  airtime.follow({
    onEvent: (listener: typeof tell) => {
      tell = listener
    },
  } as unknown as RadioPort)
  return tell
}
