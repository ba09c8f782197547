/**
 * Between key line and audio at a sound card: a player process may have to be started and to open its device, and ends some
 * time after the last sample. Taken from the duty allowance for each transmission until it is over.
 */
export const keyOverheadMs = 400

/** A helper answers within some milliseconds; on a busy machine it may take that long. */
export const unkeyMarginMs = 50
