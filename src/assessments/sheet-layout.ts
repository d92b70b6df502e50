import type { Scale } from '../signs/sign.js';
import type { InputColumn } from './input-columns.js';
import type { MissingReason } from './missing-reason.js';

/** What the readings of one column of a sheet are (or those with one word in its column of findings). */
export interface SheetFinding {
  readonly sign: string;
  readonly site?: string;
  /** Where the column itself is of one limb or side (right beside left). */
  readonly limb?: string;
  readonly scale?: string | Scale;
  readonly assessor?: string;
  /** Where the column itself is of one time: days since the patient's first day, or a visit's name. */
  readonly day?: number;
  readonly occasion?: string;
  /** 2 for the second reading of the same assessor. */
  readonly replicate?: number;
  readonly unit?: string;
  readonly landmark?: string;
  readonly position?: string;
  readonly method?: string;
  readonly heldSeconds?: number;
}

/** What a code in a cell means, such as `0D` or `BKA`: a value, or a reason for none, and perhaps a second finding. */
export interface CellMeaning {
  readonly value?: string;
  readonly missing?: MissingReason;
  /** Another finding that the same cell tells, at the same place by the same assessor. */
  readonly also?: { readonly sign: string; readonly scale: string; readonly value: string };
}

/** What empty cells mean: they stay empty, or nobody assessed there. */
export type BlankMeaning = 'blank' | 'not-assessed';

/** A cell that is read as `value`, because somebody looked at the paper. */
export interface CellCorrection {
  readonly row: number;
  readonly column: string;
  readonly value: string;
}

/**
 * How a sheet is laid out. Wide: one row a patient, visit or limb and a column for each reading (`readings`). Long:
 * one row a reading, with a column that says in the sheet's own words what was assessed (`findings`).
 */
export interface SheetLayout {
  /** The sheet of a workbook. */
  readonly sheet?: string;
  /** Rows above the header. Default 0. */
  readonly titleRows?: number;
  /** Rows of the header; names of several rows are joined, an empty name takes the one on its left. Default 1. */
  readonly headerRows?: number;
  /** Rows at the end that hold no readings: totals, legends. Default 0. */
  readonly footerRows?: number;
  /** Our name of a column → its header in the sheet, for what all readings of a row share. */
  readonly columns?: { readonly [name in InputColumn]?: string };
  /** Header of a reading column → what its readings are. */
  readonly readings?: Readonly<Record<string, SheetFinding>>;
  readonly findings?: { readonly column: string; readonly words: Readonly<Record<string, SheetFinding>> };
  /** Codes in cells → what they mean. */
  readonly cells?: Readonly<Record<string, CellMeaning>>;
  readonly blanks?: BlankMeaning;
  /** Part of the body of a column that tells only left from right. Not needed where sites tell it. */
  readonly part?: 'arm' | 'leg';
  /** Column with the order in which the examiners came, one letter each (`ABC`). */
  readonly examinerOrder?: string;
  /** Assessors whose readings are the reference. */
  readonly references?: readonly string[];
  /** Column with the highest grade of the scale (`out of`): a reading must agree with it. */
  readonly outOf?: string;
  /** For a column, its words in the sheet → ours, as in `{ method: { y: 'both sides at once', n: 'one at a time' } }`. */
  readonly words?: { readonly [name in InputColumn]?: Readonly<Record<string, string>> };
  /** Cells corrected against the paper, by row of the spreadsheet and header. They are told in the notes; the file stays as it is. */
  readonly corrections?: readonly CellCorrection[];
  /** Headers of columns that are not read. A column that is neither named nor listed here is noted as not read. */
  readonly notRead?: readonly string[];
  /** Questions of a preview that must be answered first: loading refuses the sheet with them. */
  readonly unanswered?: readonly string[];
}
