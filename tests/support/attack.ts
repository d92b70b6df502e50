import { type Constraint, equalTo, lessEq, solve } from 'yalps';

/** A sum of unknown whole numbers that somebody has been told: the variables by name, and what they add up to. */
export interface Told {
  readonly of: readonly string[];
  readonly sum: number;
}

/**
 * What an attacker finds out: the variables whose value follows from all that was told, with that value. Each unknown is a whole number from 0; for each the least and the greatest value
 * that fit everything are sought by linear programming (without the whole numbers, so nothing is missed that the bounds give away).
 */
export function workedOut(unknowns: readonly string[], told: readonly Told[]): ReadonlyMap<string, number> {
  const found = new Map<string, number>();
  const constraints = new Map<string, Constraint>(told.map(({ sum }, at) => [`told ${at}`, equalTo(sum)]));
  const most = Math.max(1000, ...told.map(({ sum }) => sum));
  constraints.set('not endless', lessEq(most * unknowns.length));
  for (const target of unknowns) {
    const variables = new Map(
      unknowns.map((name) => [
        name,
        new Map<string, number>([
          ...told.flatMap(({ of }, at): [string, number][] => (of.includes(name) ? [[`told ${at}`, 1]] : [])),
          ['not endless', 1],
          ...(name === target ? ([['target', 1]] as [string, number][]) : []),
        ]),
      ]),
    );
    const bound = (direction: 'minimize' | 'maximize'): number => {
      const { status, result } = solve({ direction, objective: 'target', constraints, variables });
      if (status !== 'optimal') throw new Error(`The attack found no table that fits: ${status}.`);
      return result;
    };
    const least = Math.ceil(bound('minimize') - 1e-6);
    if (least === Math.floor(bound('maximize') + 1e-6)) found.set(target, least);
  }
  return found;
}
