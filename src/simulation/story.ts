import { readFileSync } from 'node:fs'
import { basename } from 'node:path'
import { parse } from 'smol-toml'
import { z } from 'zod'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'
import { tomlProblem } from '../runtime/tomlProblem.js'

const call = z.string().regex(/^[A-Z0-9]{3,6}(-(1[0-5]|[1-9]))?$/, 'expected a call sign')

const storySchema = z.strictObject({
  title: z.string().min(1),
  /** what the stations' clocks say at the beginning */
  startsAt: z.iso.datetime(),
  /** seconds; the story ends earlier when nobody has anything left to send */
  endS: z.number().min(1).max(3600),
  seed: z.int(),
  node: z.strictObject({
    call,
    what: z.string(),
    config: z.string().min(1),
    /** repeats what stations ask to be repeated; the story is played without that as well, and both are held side by side */
    digipeater: z.boolean().default(false),
  }),
  /** further nodes on the same air; stories with them, or with what changes beside the air, are played to endS */
  other: z
    .array(
      z.strictObject({
        call,
        what: z.string(),
        config: z.string().min(1),
        /** carrier over noise on the path to and from the first node, dB */
        cnrDb: z.number().min(-50).max(60),
      }),
    )
    .max(5)
    .default([]),
  station: z
    .array(
      z.strictObject({
        call,
        what: z.string(),
        latitudeDeg: z.number().min(-90).max(90),
        longitudeDeg: z.number().min(-180).max(180),
        /** carrier over noise on the path to and from the node, dB */
        cnrDb: z.number().min(-50).max(60),
        /** whom it asks; the first node unless given */
        asks: call.optional(),
        /** digipeaters that it asks for, such as "WIDE1-1" */
        path: z.array(call).max(8).default([]),
      }),
    )
    .min(1)
    .max(10),
  /** pairs of stations that do not hear each other, only the node */
  apart: z
    .array(z.strictObject({ stations: z.array(call).length(2), why: z.string() }))
    .default([]),
  /** times at which a station's path to and from the node is another */
  shadow: z
    .array(
      z.strictObject({
        station: call,
        fromS: z.number().min(0),
        toS: z.number().min(0),
        cnrDb: z.number().min(-50).max(60),
        why: z.string(),
      }),
    )
    .default([]),
  /** a mail server beside the node, on a link that is there from then on */
  mailServer: z.strictObject({ fromS: z.number().min(0) }).optional(),
  /** mails that come into the maildir of the first node */
  mail: z
    .array(
      z.strictObject({
        atS: z.number().min(0),
        from: z.string().min(3),
        to: z.string().min(3),
        subject: z.string(),
        text: z.string(),
      }),
    )
    .default([]),
  /** what the first node measures from then on */
  reading: z
    .array(z.strictObject({ atS: z.number().min(0), channel: z.string(), value: z.number() }))
    .default([]),
  /** programs at the KISS port of the first node */
  client: z
    .array(
      z.strictObject({
        name: z.string(),
        /** plain: KISS of 1987; the others as the paper of 1991 has them */
        mode: z.enum(['plain', 'acknowledged', 'checksum', 'polled']),
        send: z
          .array(
            z.strictObject({ atS: z.number().min(0), from: call, text: z.string().min(1).max(67) }),
          )
          .default([]),
      }),
    )
    .default([]),
  /** what people send: one of position, text (a message to the node), payload (any information field) and typed (a line, over a connection) */
  send: z.array(
    z
      .strictObject({
        atS: z.number().min(0),
        station: call,
        position: z.literal(true).optional(),
        text: z.string().min(1).max(67).optional(),
        payload: z.string().min(1).max(256).optional(),
        typed: z.string().min(1).max(500).optional(),
      })
      .refine(
        ({ position, text, payload, typed }) =>
          [position, text, payload, typed].filter((one) => one !== undefined).length === 1,
        { message: 'expected one of position, text, payload and typed' },
      ),
  ),
})

/** A scenario for the demo: who is on the air, how the paths are, what people send. */
export type Story = z.infer<typeof storySchema>

/**
 * Reads a scenario.
 * @throws Failure 'story-unreadable' or 'story-invalid'
 */
export function readStory(file: string): Story {
  const document = parsed(file)
  const result = storySchema.safeParse(document)
  if (result.success) return checked(file, result.data)
  const [issue] = result.error.issues
  throw invalid(file, issue?.path.map(String).join('.') ?? '', issueText(issue))
}

function parsed(file: string): unknown {
  const advice = 'samples/demo has examples'
  let text: string
  try {
    text = readFileSync(file, 'utf8')
  } catch (cause) {
    const problem = `cannot be read: ${errorText(cause)}`
    throw new Failure({ code: 'story-unreadable', subject: file, problem, advice, cause })
  }
  try {
    return parse(text)
  } catch (cause) {
    const { place, problem } = tomlProblem(text, cause)
    throw new Failure({ code: 'story-unreadable', subject: `${file}${place}`, problem, cause })
  }
}

/** Everybody who is named must be on the list. */
function checked(file: string, story: Story): Story {
  const calls = new Set([story.node, ...story.station, ...story.other].map(({ call }) => call))
  const named = [
    ...[...story.shadow, ...story.send].map((one) => one.station),
    ...story.apart.flatMap(({ stations }) => stations),
  ]
  const unknown = named.find((one) => !calls.has(one))
  if (unknown !== undefined) throw invalid(file, `station "${unknown}"`, 'is not a [[station]]')
  return story
}

/** Our own sentences begin with 'expected'; the library's are for programmers. */
function issueText(issue: z.core.$ZodIssue | undefined): string {
  if (issue?.message.startsWith('expected ')) return issue.message
  if (issue?.code === 'unrecognized_keys') return `unknown here: ${issue.keys.join(', ')}`
  return issue?.code === 'invalid_type' ? 'is missing, or of another kind' : 'is out of range'
}

const invalid = (file: string, place: string, problem: string): Failure =>
  new Failure({
    code: 'story-invalid',
    subject: `${basename(file)}: ${place}`,
    problem,
    advice: 'samples/demo has examples',
  })
