// The same random cases in every run; PROPERTY_SEED=N tries others. A failure prints seed and path to replay it.
import fc from 'fast-check'

fc.configureGlobal({ seed: Number(process.env.PROPERTY_SEED ?? 1) })
