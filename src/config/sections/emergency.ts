import { z } from 'zod'

const word = z
  .string()
  .trim()
  .min(2, 'expected a word of at least two letters, such as "mayday"')
  .max(30)

/** What is done when somebody calls for help. */
export const emergencySection = z
  .strictObject({
    /** a message that begins with one of these calls for help, as EMERGENCY in capitals and a Mic-E emergency always do */
    words: z
      .array(word)
      .max(50)
      .default([
        ...['sos', 'mayday', 'emergency', 'notfall', 'au secours', 'urgence', 'socorro'],
        ...['emergencia', 'aiuto', 'emergenza'],
      ]),
    /** one of these in a call marks it as an exercise */
    exerciseWords: z
      .array(word)
      .max(50)
      .default([
        ...['exercise', 'drill', 'übung', 'uebung', 'ubung', 'exercice', 'ejercicio'],
        ...['simulacro', 'esercitazione'],
      ]),
    /** what it is answered with: no promise that help comes; at most 67 characters; empty for the station's language's own words */
    reply: z
      .string()
      .regex(/^[^|~{\x00-\x1f\x7f]{0,67}$/u, 'expected at most 67 characters without | ~ {')
      .default(''),
    /** told of a call, as a list of words: it is given "emergency" or "exercise", the call sign, and a sentence; none when empty */
    command: z.array(z.string().min(1)).max(40).default([]),
  })
  .superRefine(({ reply, words }, context) => {
    const begin = reply.toLowerCase().replace(/^[^\p{L}\p{N}]+/u, '')
    const isCall =
      /EMERGENCY/.test(reply) || words.some((one) => begin.startsWith(one.toLowerCase()))
    if (!isCall) return
    const message = 'expected words that are not a call for help: another node would answer them'
    context.addIssue({ code: 'custom', path: ['reply'], message })
  })
