import { z } from 'zod'

const sampleFormats = ['u8', 's16le', 's16be', 's24le', 's32le', 'f32le', 'f64le'] as const

const audioSpec = z
  .string()
  .regex(
    /^((wav|alsa|unix|fifo):.+|pcm:-|tcp:.+:\d{1,5})$/s,
    'expected wav:FILE, pcm:-, alsa:DEVICE, unix:PATH, tcp:HOST:PORT or fifo:PATH; "levels --list" shows the sound cards',
  )

/** The radio's audio. */
export const audioSection = z
  .strictObject({
    /** where the radio's audio comes from; ALSA's default device unless set */
    input: audioSpec.default('alsa:default'),
    /** where the transmitter's audio goes; without it the radio only receives @example "alsa:plughw:CARD=radio0" */
    output: audioSpec.optional(),
    /** samples a second of device or stream, 8000 to 192000; a WAV file to read says it itself */
    rateHz: z.int().min(8000).max(192_000).default(48_000),
    /** channels of the device or stream, 1 to 32 */
    channelCount: z.int().min(1).max(32).default(1),
    /** the radio's channel, for input and output; 0 is the first, left one */
    channel: z.int().min(0).max(31).default(0),
    /** how samples lie in a stream, or are asked of a device */
    sampleFormat: z.enum(sampleFormats).default('s16le'),
  })
  .refine((audio) => audio.channel < audio.channelCount, {
    path: ['channel'],
    message: 'expected a channel below audio.channelCount; channels are counted from 0',
  })
export type AudioSection = z.infer<typeof audioSection>
