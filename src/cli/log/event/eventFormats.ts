import { logFormats } from '../logFormat.js'

/** The log of an event may be a page to print, too. */
export const eventFormats = [...logFormats, 'page'] as const
export type EventFormat = (typeof eventFormats)[number]
