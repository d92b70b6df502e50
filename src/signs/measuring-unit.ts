/** A measured unit by its UCUM code: what it measures, and how to get from it to the first unit of that quantity. */
interface MeasuringUnit {
  readonly code: string;
  readonly quantity: string;
  readonly factor: number;
  readonly offset: number;
  /** Spellings that are not UCUM but are meant for it; their use is noted. */
  readonly spellings: readonly string[];
}

const units: readonly MeasuringUnit[] = [
  unit('s', 'time', 1, ['sec', 'secs', 'second', 'seconds']),
  unit('min', 'time', 60, ['minute', 'minutes']),
  unit('cm', 'length', 1, ['centimeter', 'centimeters']),
  unit('mm', 'length', 0.1, ['millimeter', 'millimeters']),
  unit('m', 'length', 100, ['meter', 'meters']),
  unit('[in_i]', 'length', 2.54, ['in', 'inch', 'inches', '"']),
  unit('cm2', 'area', 1, ['cm²', 'sq cm']),
  unit('mm2', 'area', 0.01, ['mm²', 'sq mm']),
  unit('mL', 'volume', 1, ['milliliter', 'milliliters']),
  unit('L', 'volume', 1000, ['l', 'liter', 'liters']),
  // C alone is the coulomb in UCUM; on a thermometer it is the degree Celsius.
  unit('Cel', 'temperature', 1, ['°C', 'C', 'degC', 'celsius']),
  unit('[degF]', 'temperature', 5 / 9, ['°F', 'F', 'degF', 'fahrenheit'], -32),
  unit('mm[Hg]', 'pressure', 1, ['mmHg', 'mm Hg', 'torr']),
  unit('kPa', 'pressure', 7.500616827, []),
  unit('deg', 'angle', 1, ['°', 'degree', 'degrees']),
  unit('/min', 'rate', 1, ['bpm', 'per minute', 'beats/min', '{beats}/min']),
  unit('%', 'share', 1, ['percent']),
  unit('{ratio}', 'ratio', 1, ['ratio', '1']),
  unit('{count}', 'count', 1, ['count']),
];

function unit(code: string, quantity: string, factor: number, spellings: readonly string[], offset = 0): MeasuringUnit {
  return { code, quantity, factor, offset, spellings };
}

/** The UCUM code of a unit as people write it, or `undefined`. UCUM codes count capitals, other spellings do not. */
export function unitCodeOf(word: string): string | undefined {
  const text = word.trim();
  const exact = units.find(({ code }) => code === text) ?? units.find(({ spellings }) => spellings.includes(text));
  if (exact !== undefined) return exact.code;
  const lower = text.toLowerCase();
  return units.find(({ code, spellings }) => [code, ...spellings].some((known) => known.toLowerCase() === lower))?.code;
}

/** A value in another unit of the same quantity; `undefined` where the two measure different things. */
export function convertUnit(value: number, from: string, to: string): number | undefined {
  if (from === to) return value;
  const source = units.find(({ code }) => code === from);
  const target = units.find(({ code }) => code === to);
  if (source === undefined || target === undefined || source.quantity !== target.quantity) return undefined;
  const inFirst = (value + source.offset) * source.factor;
  // Rounded to 12 digits: 24.7 cm must not become 24.700000000000003.
  return Number((inFirst / target.factor - target.offset).toPrecision(12));
}

/** The other units of what a unit measures. */
export function unitsLike(code: string): readonly string[] {
  const quantity = units.find((known) => known.code === code)?.quantity;
  return units.filter((known) => known.quantity === quantity && known.code !== code).map((known) => known.code);
}
