/**
 * Something a reader must know beside a result. A `caution` changes how the result may be used;
 * an `information` explains how it came about. `code` is stable, `message` is a full sentence.
 */
export interface Note {
  readonly code: string;
  readonly severity: 'information' | 'caution';
  readonly message: string;
}

/** A note that explains how a result came about. */
export function information(code: string, message: string): Note {
  return Object.freeze({ code, severity: 'information', message });
}

/** A note that changes how a result may be used. */
export function caution(code: string, message: string): Note {
  return Object.freeze({ code, severity: 'caution', message });
}
