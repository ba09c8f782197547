import { z } from 'zod'

/** A column's header text, or its number counted from 1. */
const column = z.union([z.string().min(1), z.number().int().min(1)], {
  error: 'expected a header text, or a column number counted from 1',
})

/** The directory behind `repeaters`. */
const repeatersTable = z.strictObject({
  /** CSV directory; relative to the configuration file, like every file here */
  file: z.string().default(''),
  /** Where a field's column is, if it is not recognised by itself. */
  columns: z
    .strictObject({
      /** a column by its header text, or by its number counted from 1 @example "Place" */
      name: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Call" */
      call: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Output" */
      output: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Input" */
      input: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Offset" */
      offset: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Tone" */
      tone: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Lat" */
      latitude: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Lon" */
      longitude: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Grid" */
      locator: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Mode" */
      mode: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Plus or minus" */
      sign: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "DCS" */
      code: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Kind of tone" */
      toneMode: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Color code" */
      colorCode: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Coordinates" */
      position: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Use" */
      use: column.optional(),
      /** a column by its header text, or by its number counted from 1 @example "Status" */
      status: column.optional(),
    })
    .prefault({}),
  /** km; farther repeaters are not named */
  rangeKm: z.number().min(1).max(20_100).default(400),
})

/** Satellite passes. */
const passTable = z.strictObject({
  /** element sets: two lines each, or OMM as KVN, XML, JSON or CSV */
  file: z.string().default(''),
  /** days; older elements give no answer */
  elementAgeMaxDays: z.number().min(1).max(365).default(30),
  /** degrees; lower passes are not told */
  elevationMinDeg: z.number().min(0).max(60).default(10),
})

/** Cards that the club wrote. */
const findTable = z.strictObject({
  /** folder of Markdown and CSV files with cards, or one such file */
  folder: z.string().default(''),
})

const weatherFieldNames = [
  'temperatureC',
  'windDirectionDeg',
  'windSpeedMps',
  'windGustMps',
  'rainLastHourMm',
  'rainLastDayMm',
  'humidityPercent',
  'pressureHpa',
] as const

/** The weather behind `conditions`. */
const conditionsTable = z
  .strictObject({
    /** where the node's own instrument is read */
    instrument: z.enum(['none', 'file', 'command', 'serial']).default('none'),
    /** the file, or the serial port */
    path: z.string().default(''),
    /** the command and its arguments */
    command: z.array(z.string()).default([]),
    /** seconds that the command may take */
    timeLimitS: z.number().min(1).max(60).default(5),
    /** of the serial port */
    lineBitRate: z.number().int().min(300).max(921_600).default(4800),
    /** names of transducers in XDR sentences, each with its field, such as { OUTTEMP = "temperatureC" } */
    transducers: z.record(z.string(), z.enum(weatherFieldNames)).default({}),
    /** minutes; an older reading of the own instrument is not told */
    readingAgeMaxMinutes: z.number().min(1).max(1440).default(30),
    /** minutes; an older report heard by radio is not told */
    reportAgeMaxMinutes: z.number().min(1).max(1440).default(120),
    /** text file with what you expect: until 2026-06-22 06:00 in its first line, the words in the next; never told after that time */
    forecastFile: z.string().default(''),
    /** km; a report from farther away is not told */
    rangeKm: z.number().min(1).max(20_100).default(150),
  })
  .superRefine(({ instrument, path, command }, problem) => {
    if ((instrument === 'file' || instrument === 'serial') && path === '')
      problem.addIssue({
        code: 'custom',
        path: ['path'],
        message: `expected the path of the ${instrument} instrument`,
      })
    if (instrument === 'command' && (command[0] ?? '') === '')
      problem.addIssue({
        code: 'custom',
        path: ['command'],
        message:
          'expected a command and its arguments, such as ["/usr/local/bin/weather", "--now"]',
      })
  })

/** What people may name as a place, besides locators. */
const placesTable = z.strictObject({
  /** CSV list of places that people may name: name, latitude, longitude or locator, other names, postal code */
  file: z.string().default(''),
})

/** Services of your own. */
const ownTable = z.strictObject({
  /** folder of .mjs files, each a service of your own */
  folder: z.string().default(''),
  /** seconds that one answer may take before its service is stopped */
  timeLimitS: z.number().min(0.1).max(60).default(5),
  /** megabytes of memory that one service may use */
  memoryMb: z.number().int().min(16).max(1024).default(64),
  /** for each keyword a table of what its file lets you set, and mayAsk = ["CALL"], who may ask it */
  settings: z
    .record(
      z.string(),
      z.record(z.string(), z.union([z.string(), z.number(), z.boolean(), z.array(z.string())])),
    )
    .default({}),
})

/** What people can ask. */
export const servicesSection = z.strictObject({
  /** keywords that are not offered, such as ["post", "board"] */
  off: z.array(z.string()).default([]),
  /** hours; an asker's older position is not used, the node's is */
  positionAgeMaxHours: z.number().min(0).max(8760).default(12),
  /** words of your own for services, each with what it means, such as { hut = "find hut" } */
  synonyms: z.record(z.string(), z.string().min(1)).default({}),
  /** TOML file with a language of your own, or with better words for one that is known; README tells what is in it */
  languageFile: z.string().default(''),
  repeaters: repeatersTable.prefault({}),
  conditions: conditionsTable.prefault({}),
  pass: passTable.prefault({}),
  find: findTable.prefault({}),
  places: placesTable.prefault({}),
  own: ownTable.prefault({}),
})
