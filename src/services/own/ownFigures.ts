import type { Wording } from '../../words/air/wording.js'

/** How a language writes figures: all that an own service's thread needs of it, which then loads no texts. */
export interface OwnFigures {
  readonly decimalSign: string
  /** from north, eastward */
  readonly compass: readonly string[]
}

export const figuresOf = ({ find }: Wording): OwnFigures => ({
  decimalSign: find('decimalSign') ?? '.',
  compass: (find('compass') ?? '').split(',').map((one) => one.trim()),
})

/** What `wayWords` needs of a wording. */
export const figuresWording = ({
  decimalSign,
  compass,
}: OwnFigures): Pick<Wording, 'decimal' | 'listed'> => ({
  decimal: (figures) => String(figures).replace('.', decimalSign),
  listed: (_, at) => compass[at] ?? '',
})
