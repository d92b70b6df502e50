import type { RatingCategory } from '../ratings/ratings.js';
import type { Audience, MadeFor } from '../shared/audience.js';
import type { Estimate } from '../shared/estimate.js';
import type { Note } from '../shared/note.js';
import { Table } from '../shared/table.js';

/** One estimate for each category, in the scale's order. `details.readings` counts the readings of the category. */
export class CategoryEstimates implements MadeFor {
  readonly audience: Audience;

  constructor(
    readonly kind: 'specific-agreement' | 'kappa-by-category' | 'share-shift',
    readonly caption: string,
    /** Heading of the column of values. */
    readonly valueLabel: string,
    readonly categories: readonly { readonly category: RatingCategory; readonly estimate: Estimate }[],
    readonly notes: readonly Note[] = [],
    madeFor: MadeFor = {},
  ) {
    this.audience = madeFor.audience ?? 'own';
    Object.freeze(this);
  }

  get table(): Table {
    const kind = this.kind === 'kappa-by-category' ? 'number' : 'percent';
    return new Table(
      this.caption,
      [
        { key: 'category', label: 'grade', kind: 'text' },
        { key: 'value', label: this.valueLabel, kind },
        { key: 'lower', label: 'from', kind },
        { key: 'upper', label: 'to', kind },
        { key: 'readings', label: 'readings of it', kind: 'count' },
      ],
      this.categories.map(({ category, estimate }) => ({
        category: category.words,
        value: estimate.value,
        lower: estimate.interval.lower,
        upper: estimate.interval.upper,
        readings: estimate.details.readings ?? 0,
      })),
      this.notes,
      this,
    );
  }

  [Symbol.for('nodejs.util.inspect.custom')](): string {
    return this.table.toText();
  }
}
