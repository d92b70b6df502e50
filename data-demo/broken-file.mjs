/**
 * A small file in which nearly everything is wrong that goes wrong on the way from a sheet of paper to a
 * table. Kept as text, so that each fault can be seen where it stands; the truth names it by its row.
 */
const LINES = [
  ['patient,day,occasion,assessor,replicate,limb,site,sign,scale,value,missing'],
  ['B01,0,1,N11,1,left-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,2,'],
  ['B01,0,1,N24,1,left-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,5,', 'grade 5 on a scale from 0 to 4'],
  ['B01,0,1,N11,1,right-leg,dorsalis-pedis,pulse-grade,pulse.0-3.normal2,4,', 'grade 4 on a scale from 0 to 3'],
  ['B01,0,1,N24,1,right-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,3-Feb,', 'a spreadsheet made a day of 2/3'],
  ['B02,0,1,N11,1,left-leg,knee-back,pulse-grade,pulse.0-4.normal2,2,', 'a site that does not exist'],
  ['B02,0,1,N24,1,left-leg,dorsalis-pedis,pulse-grade,,2,', 'no scale'],
  ['B02,0,1,N11,1,right-leg,dorsalis-pedis,pulse-grade,pulse.0-5,2,', 'a scale that does not exist'],
  ['B02,0,1,N24,1,both,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,2,', 'one cell for two limbs'],
  ['B03,0,1,N11,1,left-arm,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,2,', 'an arm with a site of the leg'],
  ['B03,0,1,N24,1,left-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,NA,', 'a word that can mean several things'],
  ['B03,0,1,N11,1,right-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,1,covered', 'a value and a reason for none'],
  ['B03,0,1,N24,1,right-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,,asleep', 'a reason that does not exist'],
  ['B04,0,1,N11,1,left-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,2/3,', 'out of 3 on a scale up to 4'],
  ['B04,0,1,N24,1,left-leg,dorsalis-pedis,pulse-rate-of-foot,pulse.0-4.normal2,2,', 'a sign that does not exist'],
  ['B04,0,1,N11,1,right-leg,dorsalis-pedis,pulse-grade,pit.0-4.hogan,2,', 'a scale of another sign'],
  ['B04,zero,1,N24,1,right-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,2,', 'a day that is no whole number'],
  [',0,1,N24,1,left-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,2,', 'no patient'],
  ['B05,0,1,N11,1,left-leg,great-toe,capillary-refill,refill.seconds.toe,-1.5,', 'seconds below zero'],
  ['B05,0,1,N24,1,left-leg,great-toe,capillary-refill,refill.seconds.toe,fast,', 'a word where seconds belong'],
  ['B05,0,1,N11,1,right-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,1.5,', 'half a grade'],
  ['B06,0,1,N11,1,left-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,2,'],
  ['B06,0,1,N11,1,left-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,1,', 'the same finding twice, not told apart'],
  ['B06,0,1,N24,first,left-leg,dorsalis-pedis,pulse-grade,pulse.0-4.normal2,2,', 'a replicate that is no number'],
];

/** The broken file and, as its truth, the faults by row as a spreadsheet numbers them (the header is row 1). */
export function brokenFiles() {
  const faults = LINES.flatMap(([, fault], i) => (fault === undefined ? [] : [{ row: i + 1, fault }]));
  return {
    'broken-file.csv': `${LINES.map(([line]) => line).join('\n')}\n`,
    'broken-file.truth.json': `{\n  "about": "The faults of broken-file.csv, by row; the header is row 1.",\n  "faults": [\n${faults
      .map((fault) => `    ${JSON.stringify(fault)}`)
      .join(',\n')}\n  ]\n}\n`,
  };
}
