/** What every benchmark is told. */
export interface BenchOptions {
  /** folder of graded recordings (NAME.wav with NAME.json), where one was given */
  readonly ladders?: string | undefined
  /** folder of graded recordings of adverse audio, where one was given */
  readonly adverse?: string | undefined
  /** of `receiver-cost`: another checkout, measured in turn */
  readonly beside?: string | undefined
  readonly seed: number
  /** folder for tables and plots */
  readonly output: string
  /** fewer repetitions: minutes instead of an hour */
  readonly quick: boolean
  /** of `unkey`: how often, with so many busy loops beside it, as which user */
  readonly kills?: number | undefined
  readonly load?: number | undefined
  readonly user?: number | undefined
  /** of `campaign` and `campaign-mutants`: simulated days */
  readonly days?: number | undefined
  /** of `campaign`: in so many processes; whether the shortest schedule of a failure is looked for */
  readonly jobs?: number | undefined
  readonly shrinks?: boolean
  /** of `soak`: how long, with a forced collection in so many seconds */
  readonly minutes?: number | undefined
  readonly everyS?: number | undefined
  /** of `soak`: the program's clocks, the audio and the traffic run so many times as fast */
  readonly pace?: number | undefined
  /** of `fuzz`: which target, how many runs or seconds, whether telling inputs are kept in the repository */
  readonly target?: string | undefined
  readonly runs?: number | undefined
  readonly seconds?: number | undefined
  readonly save?: boolean
  /** of `campaign-mutants`: this one only */
  readonly mutant?: string | undefined
}

export interface Bench {
  /** what follows `npm run bench --` */
  readonly name: string
  /** one line for the list */
  readonly about: string
  run(options: BenchOptions): Promise<void>
}
