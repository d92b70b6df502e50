/**
 * Where the facts of the codebook come from, by a short key. A source that was read only in part, or on a
 * page that reproduces it, says so.
 */
export const sources = {
  armstrong2010:
    'Armstrong DWJ, Tobin C, Matangi MF. Can J Cardiol 2010;26(10):e346–350 (abstract read: absent, reduced, normal, bounding)',
  physicalExaminationText:
    'Peripheral-vascular chapters of two standard physical-examination texts (0–4 with 2 normal; read in reproduction)',
  clinicalMethods1990:
    'Walker HK, Hall WD, Hurst JW, eds. Clinical Methods, 3rd ed., 1990, ch. 30, NBK350 (0–4 with 3 normal and 4 bounding; the words of 1 and 2 are from memory)',
  pocketReference: 'A nursing pocket reference (only the end points 0 and 4 are worded; read in reproduction)',
  brearley1992: 'Brearley S, Shearman CP, Simms MH. Ann R Coll Surg Engl 1992;74(3):169–171, PMID 1616258',
  mowlavi2002: 'Mowlavi A et al. Postgrad Med J 2002;78:746–747, doi:10.1136/pmj.78.926.746',
  pitDepthTable:
    'Pit depth and recovery table (2, 4, 6, 8 mm bands) on an evidence page citing Brodovicz 2009 (read there)',
  brodovicz2009: 'Brodovicz KG et al. Clin Med Res 2009;7(1/2):21–31 (abstract read)',
  hogan2007:
    'Attributed to Hogan M, 2007, a medical-surgical nursing text (wording read on two pages, attribution from memory)',
  schriger1988: 'Schriger DL, Baraff L. Ann Emerg Med 1988;17(9):932–935, doi:10.1016/S0196-0644(88)80675-9',
  fleming2015: 'Fleming S et al. Arch Dis Child 2015, systematic review (abstract read)',
  anderson2008: 'Anderson B, Kelly AM, Kerr D, Jolley D. Hong Kong J Emerg Med 2008;15(2):71–74',
  raia2022: 'Raia L et al. Ann Intensive Care 2022;12:74, doi:10.1186/s13613-022-01049-x',
  practice: 'common practice, no source',
} as const;
