/**
 * One-way data sets of the NIST Statistical Reference Datasets (public domain), www.itl.nist.gov/div898/strd/anova: certified F.
 * SiRstv and AtmWtAg are measured; SmLs01 to SmLs09 (Simon and Lesage, Comput Stat Data Anal 1989;8:325–332) follow a rule:
 * treatment i of 9, replicate j of n: y = offset + b(i) + b(j), b(1) = 0.2, b(even) = 0.1, b(odd) = 0.3, whose F is n exactly.
 */
export interface OneWaySet {
  readonly name: string;
  readonly difficulty: 'lower' | 'average' | 'higher';
  readonly groups: readonly (readonly number[])[];
  readonly certifiedF: number;
}

const SI_RSTV = [
  [196.3052, 196.124, 196.189, 196.2569, 196.3403],
  [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
  [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
  [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
  [196.2119, 196.1051, 196.185, 196.0052, 196.209],
];

/** Digits after 107.868 of the atomic weight of silver, in units of 10⁻⁷. */
const AT_WT_AG = [
  [
    1568, 1465, 1572, 1785, 1446, 1903, 1526, 1494, 1616, 1587, 1519, 1486, 1419, 1569, 1508, 1672, 1385, 1518, 1662,
    1424, 1360, 1333, 1610, 1477,
  ],
  [
    1079, 1344, 1513, 1197, 1604, 1385, 1642, 1365, 1151, 1082, 1517, 1448, 1198, 1482, 1334, 1609, 1101, 1512, 1469,
    1360, 1254, 1261, 1450, 1368,
  ],
].map((group) => group.map((digits) => Number(`107.868${digits}`)));

/** y written as decimals and read as the nearest double, as a file would be. */
function simonLesage(offset: number, replicates: number): number[][] {
  const tenths = (index: number): number => (index === 1 ? 2 : index % 2 === 0 ? 1 : 3);
  return Array.from({ length: 9 }, (_, i) =>
    Array.from({ length: replicates }, (_, j) => Number(`${offset}.${tenths(i + 1) + tenths(j + 1)}`)),
  );
}

export const NIST_ONE_WAY: readonly OneWaySet[] = [
  { name: 'SiRstv', difficulty: 'lower', groups: SI_RSTV, certifiedF: 1.18046237440255 },
  { name: 'AtmWtAg', difficulty: 'average', groups: AT_WT_AG, certifiedF: 15.946733567793 },
  ...(['lower', 'average', 'higher'] as const).flatMap((difficulty, level) =>
    [21, 201, 2001].map((replicates, at) => ({
      name: `SmLs0${3 * level + at + 1}`,
      difficulty,
      groups: simonLesage([1, 1e6, 1e12][level]!, replicates),
      certifiedF: replicates,
    })),
  ),
];

/** F of the doubles as they are stored, in whole-number arithmetic; `bits` of fraction that the numbers use at most. */
export function exactF(groups: readonly (readonly number[])[], bits: number): number {
  const k = BigInt(groups.length);
  const m = BigInt(groups[0]!.length);
  let squares = 0n;
  let totalSquares = 0n;
  let grand = 0n;
  for (const group of groups) {
    let total = 0n;
    for (const y of group) {
      const whole = BigInt(y * 2 ** bits);
      total += whole;
      squares += whole * whole;
    }
    totalSquares += total * total;
    grand += total;
  }
  const between = (k * totalSquares - grand * grand) * (k * m - k);
  const within = k * (k - 1n) * (m * squares - totalSquares);
  const digits = 10n ** 18n;
  return Number((between * digits) / within) / 1e18;
}
