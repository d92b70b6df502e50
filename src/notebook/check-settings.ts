import { ruleOfValue } from '../assessments/identifier-guard.js';
import { InputError, type Problem } from '../shared/input-error.js';
import { nearest } from '../signs/nearest.js';

/**
 * What one setting may be. `check` gives the value, or a sentence that says what was written and what
 * may be written instead. `default` stands where the setting is left out.
 */
export interface SettingRule<T> {
  readonly check: (name: string, written: unknown) => { readonly value: T } | { readonly problem: string };
  readonly default?: T;
}

/** The values that checked settings have. */
export type CheckedSettings<Rules extends Readonly<Record<string, SettingRule<unknown>>>> = {
  readonly [Name in keyof Rules]: Rules[Name] extends SettingRule<infer T> ? T : never;
};

/** One of a few words. */
function oneOf<const T extends string>(words: readonly T[], standard?: T): SettingRule<T> {
  return withDefault(standard, (name, written) =>
    isOneOf(words, written) ? { value: written } : { problem: notOneOf(name, written, words) },
  );
}

/** A list of one or more of a few words. */
function someOf<const T extends string>(words: readonly T[], standard?: readonly T[]): SettingRule<readonly T[]> {
  return withDefault(standard, (name, written) => {
    if (!Array.isArray(written) || written.length === 0)
      return {
        problem: `${name} is ${quoted(written)}; write a list of ${listed(words)}, such as [${quoted(words[0])}].`,
      };
    const wrong = written.filter((word: unknown) => !isOneOf(words, word));
    return wrong.length === 0
      ? { value: written as T[] }
      : { problem: wrong.map((word: unknown) => notOneOf(name, word, words)).join(' ') };
  });
}

/** A number within limits, both allowed. */
function numberFrom(lowest: number, highest: number, standard?: number): SettingRule<number> {
  return withDefault(standard, (name, written) =>
    typeof written === 'number' && written >= lowest && written <= highest
      ? { value: written }
      : { problem: `${name} is ${quoted(written)}; write a number from ${lowest} to ${highest}.` },
  );
}

/** A whole number within limits, both allowed. */
function wholeNumberFrom(lowest: number, highest: number, standard?: number): SettingRule<number> {
  return withDefault(standard, (name, written) =>
    Number.isInteger(written) && (written as number) >= lowest && (written as number) <= highest
      ? { value: written as number }
      : { problem: `${name} is ${quoted(written)}; write a whole number from ${lowest} to ${highest}.` },
  );
}

/** A text that is not blank, such as a file's name. */
function text(standard?: string): SettingRule<string> {
  return withDefault(standard, (name, written) =>
    typeof written === 'string' && written.trim() !== ''
      ? { value: written }
      : { problem: `${name} is ${quoted(written)}; write a text between quotation marks.` },
  );
}

/** True or false. */
function trueOrFalse(standard?: boolean): SettingRule<boolean> {
  return withDefault(standard, (name, written) =>
    typeof written === 'boolean'
      ? { value: written }
      : { problem: `${name} is ${quoted(written)}; write true or false.` },
  );
}

/** The kinds of setting a settings cell can hold. */
export const setting = { oneOf, someOf, numberFrom, wholeNumberFrom, text, trueOrFalse } as const;

/**
 * The settings of a notebook, checked: every fault at once, each as a sentence that says what was
 * written and what may be written. A setting that is left out takes its default.
 *
 * @param written what the person wrote in the settings cell.
 * @param rules what each setting may be, made with `setting`.
 * @throws InputError `bad-setting`, `missing-setting`, `unknown-setting`, all at once.
 * @example checkSettings({ sign: 'edema' }, { sign: setting.oneOf(['pulse-grade', 'edema']) }).sign // 'edema'
 */
export function checkSettings<const Rules extends Readonly<Record<string, SettingRule<unknown>>>>(
  written: Readonly<Record<string, unknown>>,
  rules: Rules,
): CheckedSettings<Rules> {
  const names = Object.keys(rules);
  const problems: Problem[] = Object.keys(written)
    .filter((name) => !names.includes(name))
    .map((name) => {
      const near = nearest(name, names);
      return {
        code: 'unknown-setting',
        ...(ruleOfValue(name) === undefined ? { path: [shortened(name)] } : {}),
        message: `There is no setting of that name${near === undefined ? '' : `; you may mean ${near}`}. The settings are ${listed(names)}.`,
      };
    });
  const checked: Record<string, unknown> = {};
  for (const [name, rule] of Object.entries(rules)) {
    if (written[name] === undefined) {
      if (rule.default !== undefined) checked[name] = rule.default;
      else problems.push({ code: 'missing-setting', path: [name], message: missingSentence(name, rule) });
      continue;
    }
    const result = rule.check(name, written[name]);
    if ('value' in result) checked[name] = result.value;
    else problems.push({ code: 'bad-setting', path: [name], message: result.problem });
  }
  if (problems.length > 0)
    throw new InputError(
      problems,
      problems.length === 1 ? 'One setting needs a change:' : `${problems.length} settings need a change:`,
    );
  return Object.freeze(checked) as CheckedSettings<Rules>;
}

function withDefault<T>(standard: T | undefined, check: SettingRule<T>['check']): SettingRule<T> {
  return standard === undefined ? { check } : { check, default: standard };
}

function isOneOf<T extends string>(words: readonly T[], written: unknown): written is T {
  return (words as readonly unknown[]).includes(written);
}

function notOneOf(name: string, written: unknown, words: readonly string[]): string {
  const near = typeof written === 'string' ? nearest(written, words) : undefined;
  return `You wrote ${quoted(written)} for ${name}; choose one of ${listed(words)}.${
    near === undefined ? '' : ` You may mean ${quoted(near)}.`
  }`;
}

function missingSentence(name: string, rule: SettingRule<unknown>): string {
  const result = rule.check(name, undefined);
  return 'problem' in result
    ? result.problem.replace(/^You wrote nothing for [^;]*; c/, 'It is missing; c')
    : 'It is missing.';
}

function listed(words: readonly string[]): string {
  return words.map((word) => quoted(word)).join(', ');
}

/** A value as a person would have typed it, as far as a message may say it. */
function quoted(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (!Array.isArray(value)) return quotedWord(value);
  const words = value.slice(0, 5).map(quotedWord);
  return `[${[...words, ...(value.length > 5 ? ['…'] : [])].join(', ')}]`;
}

function quotedWord(value: unknown): string {
  if (typeof value === 'function' || typeof value === 'symbol' || typeof value === 'bigint') return `a ${typeof value}`;
  if (typeof value === 'object' && value !== null) return 'an object';
  const text = String(value);
  if (ruleOfValue(text) !== undefined) return 'something with the form of an identifier';
  return typeof value === 'string' ? `'${shortened(text)}'` : text;
}

function shortened(text: string): string {
  return text.length <= 60 ? text : `${text.slice(0, 59)}…`;
}
