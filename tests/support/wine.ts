/**
 * Randall J. Biom J 1989;31:781–793, doi:10.1002/bimj.4710310104: bitterness (1–5) of wine by nine judges; eight
 * bottles each, the first four cold, contact with the skins in bottles 3, 4, 7 and 8.
 */
const WINE = [
  [2, 3, 3, 4, 4, 4, 5, 5],
  [1, 2, 1, 3, 2, 3, 5, 4],
  [2, 3, 3, 2, 5, 5, 4, 4],
  [3, 2, 3, 2, 3, 2, 5, 3],
  [2, 3, 4, 3, 3, 3, 3, 3],
  [3, 2, 3, 2, 2, 4, 5, 4],
  [1, 1, 2, 2, 2, 3, 2, 3],
  [2, 2, 2, 3, 3, 3, 3, 4],
  [1, 2, 3, 2, 3, 2, 4, 4],
];

/** The same in long form: grades from 0, indicators, judges and bottles. */
export const wine = {
  response: WINE.flatMap((bottles) => bottles.map((rating) => rating - 1)),
  warm: WINE.flatMap((bottles) => bottles.map((_, bottle) => (bottle >= 4 ? 1 : 0))),
  contact: WINE.flatMap((bottles) => bottles.map((_, bottle) => (bottle % 4 >= 2 ? 1 : 0))),
  judge: WINE.flatMap((bottles, judge) => bottles.map(() => judge)),
  bottle: WINE.flatMap((bottles) => bottles.map((_, bottle) => bottle)),
};
