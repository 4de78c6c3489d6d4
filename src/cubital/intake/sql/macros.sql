-- The small readings that every step shares. Text in, value out, null where it cannot be read.

-- Blank cells and the ways of writing "nothing here" are null.
create or replace macro filled(x) as
  nullif(trim(x), '');

-- Digits as 9, words as a, AM and PM as p: what date_shapes.py knows by heart.
create or replace macro date_shape(x) as
  translate(
    regexp_replace(
      regexp_replace(trim(x), '[ap]\.?m\.?$', 'p', 'i'),
      '\p{L}{3,}\.?', 'a', 'g'),
    '0123456789', '9999999999');

-- First letters of the months in English, Spanish, French, German, Italian and Portuguese, where they differ.
create or replace macro month_number(word) as
  case left(strip_accents(lower(word)), 3)
    when 'jan' then '01' when 'ene' then '01' when 'gen' then '01'
    when 'feb' then '02' when 'fev' then '02'
    when 'mar' then '03' when 'maa' then '03' when 'mrz' then '03'
    when 'apr' then '04' when 'abr' then '04' when 'avr' then '04'
    when 'may' then '05' when 'mai' then '05' when 'mag' then '05' when 'mei' then '05'
    when 'jun' then '06' when 'giu' then '06'
    when 'jul' then '07' when 'lug' then '07'
    when 'jui' then case when left(strip_accents(lower(word)), 4) = 'juil' then '07' else '06' end
    when 'aug' then '08' when 'ago' then '08' when 'aou' then '08'
    when 'sep' then '09' when 'set' then '09'
    when 'oct' then '10' when 'okt' then '10' when 'ott' then '10' when 'out' then '10'
    when 'nov' then '11'
    when 'dec' then '12' when 'dic' then '12' when 'dez' then '12'
  end;

create or replace macro without_month_names(x) as
  regexp_replace(
    x, '\p{L}{3,}\.?',
    coalesce('-' || month_number(regexp_extract(x, '\p{L}{3,}')) || '-', ' '));

create or replace macro without_halves(x) as
  regexp_replace(upper(x), '([AP])\.?M\.?$', '\1M');

-- An offset or Z at the end, in minutes east of UTC; null where none is written.
create or replace macro offset_minutes(x) as
  case
    when regexp_matches(x, '[Zz]$') then 0
    when regexp_matches(x, '\d{2}(:?\d{2}){1,2}([.,]\d+)? ?[+-]\d{2}(:?\d{2})?$') then
      (case when regexp_extract(x, '([+-])\d{2}(:?\d{2})?$', 1) = '-' then -1 else 1 end)
      * (try_cast(regexp_extract(x, '[+-](\d{2})(:?\d{2})?$', 1) as integer) * 60
         + coalesce(try_cast(nullif(regexp_extract(x, '[+-]\d{2}:?(\d{2})$', 1), '') as integer), 0))
  end;

create or replace macro without_offset(x) as
  regexp_replace(x, ' ?([Zz]|[+-]\d{2}:?\d{2}|[+-]\d{2})$', '');

-- Days since the end of 1899, as spreadsheets count; only days from 1927 to 2064 are taken for that.
create or replace macro serial_time(x) as
  case
    when try_cast(replace(x, ',', '.') as double) between 10000 and 60000
    then timestamp '1899-12-30 00:00:00'
      + to_seconds(round(try_cast(replace(x, ',', '.') as double) * 86400))
  end;

create or replace macro epoch_time(x, per_second) as
  make_timestamp((try_cast(x as bigint) // per_second) * 1000000);

-- Whole years between birth and a day; null for a birth after the day.
create or replace macro age_years(born, moment) as
  case when born <= moment then (year(moment) * 10000 + month(moment) * 100 + day(moment) - year(born) * 10000 - month(born) * 100 - day(born)) // 10000 end;

create or replace macro age_group_of(years) as
  case
    when years is null or years < 0 or years > 120 then 'unknown'
    when years < 1 then 'under_1'
    when years < 18 then '1_to_17'
    when years < 65 then '18_to_64'
    when years < 80 then '65_to_79'
    else '80_and_over'
  end;

-- Places and people are compared without case, double spaces or outer spaces.
create or replace macro tidy_label(x) as
  lower(regexp_replace(trim(x), '\s+', ' ', 'g'));

-- A long number that a spreadsheet wrote as 2.50E+10: its last digits are gone.
create or replace macro is_shortened(x) as
  contains(upper(x), 'E+') and regexp_full_match(trim(x), '\d([.,]\d+)?[eE]\+\d+');

-- A text as a number, where only being the same counts; null stays null.
create or replace macro moment_code(x) as
  case when x is not null then hash(x) end;

-- Wall clock to UTC, by the offsets (minutes) before and after the change of a day.
create or replace macro to_utc(local, before, after, change_to) as
  make_timestamp(
    epoch_us(local) - 60000000::bigint * case when change_to is not null and local >= change_to then after else before end);

-- What is left of "2/4" after a spreadsheet took it for a day: 2-Apr, Apr-02, 04-Feb-25, 2025-04-02.
create or replace macro is_turned_date(x) as
  regexp_full_match(
    lower(trim(x)),
    '(\d{1,2}[-. ](jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*([-. ]\d{2,4})?)|((jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*[-. ]\d{1,4})|(\d{4}-\d{2}-\d{2}( 00:00(:00)?)?)');

-- Days that systems fill in when a birth date is not known. Common practice, no source.
create or replace macro is_placeholder(day) as
  day in (date '1900-01-01', date '1900-01-02', date '1899-12-30', date '1899-12-31', date '1901-01-01', date '1800-01-01',
    date '1850-01-01', date '0001-01-01', date '1753-01-01', date '9999-12-31', date '9999-01-01', date '2999-12-31');

-- Why a row is no routine blood culture, as a small number: a million texts would cost more than all else.
create or replace macro outside_reasons() as
  ['blank_row', 'header_again', 'note_row', 'too_many_cells', 'damaged_accession', 'no_accession', 'other_specimen',
   'no_specimen_type', 'other_test', 'stain_row', 'superseded', 'further_antibiotic', 'not_a_result_message',
   'unreadable_message', 'no_result_in_message', 'not_collected_yet', 'unknown_test_code', 'unknown_specimen_code',
   'no_specimen_named', 'not_for_cultures',
   'read_beside_results', 'heads_other_results'];

create or replace macro outside_code(reason) as
  list_position(outside_reasons(), reason)::tinyint;

create or replace macro outside_reason(code) as
  outside_reasons()[code];

-- An accession without the ending that tells its bottles apart: 25-0412-A and 25-0412-B, or 25041201 and 25041202.
create or replace macro accession_stem(x) as
  regexp_replace(x, '[-./_ ]?[A-Za-z0-9]$', '');
