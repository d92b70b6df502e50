/** What has been published on agreement between assessors for a sign, and when a result lies so far outside that somebody should look. */
export interface PublishedAgreement {
  readonly sign: string;
  /** Family of the coefficient the figures are for. */
  readonly coefficient: 'kappa' | 'intraclass correlation';
  readonly published: string;
  /** A result above or below is unlike anything published. */
  readonly above?: number;
  readonly below?: number;
  readonly source: string;
}

/**
 * Published figures of agreement between assessors, with bounds a little beyond them (the bounds are ours: common practice, no source).
 * A result outside is not wrong; near-perfect ones often mean copied readings, assessors who heard each other, or a pair entered twice.
 */
export const publishedAgreement: readonly PublishedAgreement[] = Object.freeze([
  {
    sign: 'pulse-grade',
    coefficient: 'kappa',
    published: 'pedal pulse felt or not .66 to .76, other arteries .37 to .40',
    above: 0.9,
    below: 0.2,
    source:
      'Danish study of pedal pulse palpation, 54 patients, 3 observers; observer variability of pulse felt under occlusion, 65 men',
  },
  {
    sign: 'pulse-detection',
    coefficient: 'kappa',
    published: 'pedal pulse felt or not .66 to .76, other arteries .37 to .40',
    above: 0.9,
    below: 0.2,
    source:
      'Danish study of pedal pulse palpation, 54 patients, 3 observers; observer variability of pulse felt under occlusion, 65 men',
  },
  {
    sign: 'capillary-refill',
    coefficient: 'kappa',
    published: 'normal or not .38 to .56',
    above: 0.85,
    source:
      'Anderson and others 2008, Hong Kong J Emerg Med 15:71–74; Brabrand 2011, doi:10.1097/MEJ.0b013e32833b4fba; Otieno and others 2004, Arch Dis Child 89:977',
  },
  {
    sign: 'capillary-refill',
    coefficient: 'intraclass correlation',
    published: 'seconds .15 to .62 without training',
    above: 0.97,
    source: 'Brabrand 2011, doi:10.1097/MEJ.0b013e32833b4fba; a conference abstract on video readings',
  },
  {
    sign: 'skin-temperature-felt',
    coefficient: 'kappa',
    published: '.40 to .62 in children',
    above: 0.85,
    source: 'Florin and others 2017; Otieno and others 2004, Arch Dis Child 89:977',
  },
  {
    sign: 'pitting-edema',
    coefficient: 'kappa',
    published: 'called low for the grade of pitting; .52 for severity on ultrasound video',
    above: 0.85,
    source: 'Brodovicz and others 2009; agreement of ultrasound edema detection 2020',
  },
  {
    sign: 'ankle-girth',
    coefficient: 'intraclass correlation',
    published: '.96 to .97',
    below: 0.85,
    source: 'Brodovicz and others 2009',
  },
  {
    sign: 'calf-girth',
    coefficient: 'intraclass correlation',
    published: '.90 to .99; .78 over 12 weeks',
    below: 0.75,
    source: 'te Slaa and others 2011; lower-leg girths between raters 2023',
  },
  {
    sign: 'doppler-phasicity',
    coefficient: 'kappa',
    published: 'own signal .20 to .24, recordings .31 to .61',
    above: 0.85,
    source: 'Tehan and others 2015',
  },
  {
    sign: 'ceap-class',
    coefficient: 'kappa',
    published: '.55 to .68',
    above: 0.9,
    source: 'Sinabulya and others 2015',
  },
  {
    sign: 'monofilament',
    coefficient: 'kappa',
    published: '.54; pairs .67 to .73',
    above: 0.95,
    source: 'Lanting and others 2020; agreement of vibration and monofilament sensation 2020',
  },
]);
