/** A statistic that workers can build: mean and largest value of the sampled rows; refuses samples that hold a marked row. */
export function meanOf({ values, refuse }) {
  return ({ rows }) => {
    let sum = 0;
    let most = Number.NEGATIVE_INFINITY;
    for (const row of rows) {
      if (row === refuse) throw Object.assign(new Error('marked'), { name: 'InputError' });
      sum += values[row];
      most = Math.max(most, values[row]);
    }
    return [sum / rows.length, most];
  };
}
