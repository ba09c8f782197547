/** Turns a call with a callback into a promise. */
export const answered = <T = void>(
  call: (done: (error: Error | null | undefined, value?: T) => void) => void,
): Promise<T> =>
  new Promise((resolve, reject) => {
    call((error, value) => (error ? reject(error) : resolve(value as T)))
  })
