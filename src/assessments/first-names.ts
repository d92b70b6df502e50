/**
 * Common first names of the United States (public lists of the Social Security Administration, a selection from
 * memory), in small letters. Two words of which one is such a name are taken for a person. Names that are also
 * words of the bedside, of wards or of the calendar (April, June, May, Art, Rose) are left out.
 */
export const FIRST_NAMES: ReadonlySet<string> = new Set(
  `aaron abigail adam adrian aisha alan albert alejandro alex alexander alexandra alexis alfred alice alicia alison amanda amber
  amy ana andrea andrew angela angelica anita ann anna anne annie anthony antonio arnold arthur ashley audrey austin barbara
  benjamin bernard bernice beth betty beverly billy bob bobby bonnie bradley brandon brenda brian brittany bruce bryan carl carla
  carlos carmen carol caroline carolyn catherine cecilia charles charlotte cheryl chloe chris christian christina christine
  christopher cindy claire clara clarence claudia connie craig crystal curtis cynthia daisy dale dan daniel danielle danny
  darlene david deborah debra denise dennis derek diana diane diego donald donna doris dorothy douglas duane dylan earl eddie
  edith edna eduardo edward edwin eileen elaine elena elizabeth ella ellen emily emma eric erica erin ernest esther ethan ethel
  eugene eva evan evelyn fatima felix fernando florence frances francis francisco frank fred frederick gabriel gail gary george
  gerald geraldine giovanni gladys glenn gloria gordon grace greg gregory gustavo gwendolyn hannah harold harry heather hector
  helen henry herbert herman howard hugo ian ida irene isaac isabel isabella ivan jack jackie jacob jacqueline james jamie jan
  jane janet janice jasmine jason javier jay jean jeanne jeff jeffrey jennifer jeremy jerome jerry jesse jessica jill jim jimmy
  joan joann joanne joe joel john johnny jon jonathan jorge jose joseph joshua joyce juan juanita judith judy julia julian julie
  justin karen karl katherine kathleen kathryn kathy katie keith kelly kenneth kevin khadija kim kimberly kristen kyle larry
  laura lauren laurie lawrence leah lee leonard leroy leslie lewis liam lillian linda lisa lloyd lois lorraine louis louise lucas
  lucia lucille lucy luis lydia lynn mabel madison manuel marcia marcus margaret maria marie marilyn mario marion marjorie martha
  martin marvin mary mateo matthew maureen maurice maxine megan mei melanie melissa melvin michael michele michelle miguel mike
  mildred mohamed mohammed monica muhammad nancy naomi natalie nathan nathaniel nicholas nicole nina noah noah noor norma norman
  olga oliver olivia oscar pamela patricia patrick paul paula pauline pedro peggy peter philip phillip phyllis priya rachel ralph
  ramon randy raul ray raymond rebecca regina renee ricardo richard rita robert roberta roberto rodney roger roland ronald rosa
  rosemary roy russell ruth ryan sabrina sally samantha samuel sandra sara sarah scott sean sergio seth shannon sharon shawn
  sheila sherry shirley simon sofia sonia sophia stacy stanley stella stephanie stephen steve steven sue susan suzanne sylvia
  tamara tanya ted teresa terry thelma theodore theresa thomas tiffany tim timothy tina todd tom tony tracy travis tyler valerie
  vanessa vera vernon veronica victor victoria vincent viola virginia vivian walter wanda warren wayne wendy wei wesley willie
  william wilma xavier yolanda yvonne zachary zoe`
    .split(/\s+/)
    .filter((name) => name !== ''),
);
