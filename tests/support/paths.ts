/** Every path of a length through a number of states. */
export function everyPath(states: number, length: number): number[][] {
  let paths: number[][] = [[]];
  for (let v = 0; v < length; v++)
    paths = paths.flatMap((path) => Array.from({ length: states }, (_, s) => [...path, s]));
  return paths;
}
