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
  otieno2004: 'Otieno H et al. Arch Dis Child 2004;89(10):977 and following',
  khan2006: 'Khan NA et al. JAMA 2006;295(5):536–546, doi:10.1001/jama.295.5.536 (read in a register of reviews)',
  mcgee1998: 'McGee SR, Boyko EJ. Arch Intern Med 1998;158(12):1357–1364, doi:10.1001/archinte.158.12.1357',
  mottling2011:
    'Ait-Oufella H et al. Intensive Care Med 2011 (from memory; the 0–5 score around the knee is described in doi:10.1186/s13054-019-2496-4)',
  ono2024: 'Ono R, Horibata K. BMJ Open 2024;14(1):e079327, doi:10.1136/bmjopen-2023-079327',
  kogo2017: 'Kogo H et al. PLoS ONE 2017;12(1):e0170810, doi:10.1371/journal.pone.0170810',
  teSlaa2011: 'te Slaa A et al. Phlebology 2011;26(1):14–19, doi:10.1258/phleb.2009.009073',
  wells1997: 'Wells PS et al. Lancet 1997;350:1795–1798 (item read on secondary pages)',
  campanholi2014: 'Campanholi LL et al. J Vasc Bras 2014, doi:10.1590/1677-5449.20140037',
  jarvis2000: 'Jarvis MA et al. Ann Thorac Surg 2000;70(4):1362–1365, doi:10.1016/s0003-4975(00)01551-4',
  kohonen2007: 'Kohonen M et al. Eur J Cardiothorac Surg 2007, doi:10.1016/j.ejcts.2007.08.017',
  barone2006: 'Barone JE, Madlinger RV. J Trauma 2006, PMID 16917470',
  buergerNote: 'A case note in J Am Osteopath Assoc: no study had tied an angle to the degree of occlusion',
  insall1989: 'Insall RL, Davies RJ, Prout WG. J R Soc Med 1989;82:729–731 (cited on a page read)',
  gerhard2016: 'Gerhard-Herman MD et al. AHA/ACC guideline, 2016 (category text read in reproduction)',
  gornik2024:
    'Gornik HL et al. ACC/AHA guideline on lower-extremity peripheral artery disease, 2024 (pocket page read)',
  esc2024: 'Mazzolai L et al. ESC guidelines, 2024 (read on secondary pages)',
  olderIndexStatements: 'Older statements on the ankle-brachial index (read on secondary pages)',
  abiCalculation2007: 'Comparison of five ways to calculate the index in 6,880 patients, 2007, PMC1950873',
  aboyans2003: 'Aboyans V et al. J Clin Epidemiol 2003;56(3):215–220, doi:10.1016/s0895-4356(02)00584-x',
  sonter2015: 'Sonter JA, Chuter V, Casey S. J Am Podiatr Med Assoc 2015;105(3):201',
  kim2020: 'Kim ESH et al. SVM/SVU consensus. Vasc Med 2020;25(5):484–506, doi:10.1177/1358863X20937665',
  tehan2015: 'Tehan PE, Chuter VH. J Foot Ankle Res 2015, PMC4534124',
  lurie2020: 'Lurie F et al. J Vasc Surg Venous Lymphat Disord 2020, doi:10.1016/j.jvsv.2019.12.075',
  rutherford1997: 'Rutherford RB et al. J Vasc Surg 1997;26(3):517–538 (table read on secondary pages)',
  mills2014: 'Mills JL et al. J Vasc Surg 2014 (thresholds read on secondary pages)',
  pinprick2013: 'Five neurological screening tests, meeting abstract. J Foot Ankle Res 2013;6(Suppl 1):O6',
  lanting2020: 'Lanting SM et al. J Foot Ankle Res 2020, doi:10.1186/s13047-020-0371-9',
  memory: 'from memory, not checked',
  practice: 'common practice, no source',
} as const;
