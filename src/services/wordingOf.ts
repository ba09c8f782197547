import { standardWordings } from '../words/air/all.js'
import type { TextName } from '../words/air/texts.js'
import type { Wording } from '../words/air/wording.js'
import type { Service, ServiceContext } from './service.js'

/** The words of a question's language. */
export const wordingOf = ({
  language,
  wordings = standardWordings,
}: Pick<ServiceContext, 'language' | 'wordings'>): Wording => wordings.of(language)

/** How a service is asked, in the language of who wants to know; the club's own services say it in their own words. */
export const usageOf = (service: Service, wording: Wording): string =>
  textOf(service, 'usage', wording) ?? service.usage

/** What a service does, likewise. */
export const summaryOf = (service: Service, wording: Wording): string =>
  textOf(service, 'summary', wording) ?? service.summary

const textOf = (
  { keyword, isOwn }: Service,
  kind: 'usage' | 'summary',
  wording: Wording,
): string | undefined =>
  isOwn === true
    ? undefined
    : wording.find(`${kind}${keyword.slice(0, 1).toUpperCase()}${keyword.slice(1)}`)

/** A text that names how many, in its form for one or its form for more. */
export const counted = (
  count: number,
  one: TextName & `${'one'}${string}`,
  many: 'manyHours' | 'manyDays' | 'manyFrames' | 'manyFollow',
  wording: Wording,
): string => (count === 1 ? wording.say(one) : wording.say(many, { count }))
