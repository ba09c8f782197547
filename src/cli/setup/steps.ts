import { endSteps } from './endSteps.js'
import { keySteps } from './keySteps.js'
import { radioSteps } from './radioSteps.js'
import type { Step } from './session.js'
import { beaconSteps, siteSteps } from './siteSteps.js'
import { stationSteps } from './stationSteps.js'
import { trialSteps } from './trialSteps.js'

/** In the order in which they are asked. */
export const steps: readonly Step[] = [
  ...stationSteps,
  ...radioSteps,
  ...keySteps,
  ...siteSteps,
  ...trialSteps,
  ...beaconSteps,
  ...endSteps,
]
