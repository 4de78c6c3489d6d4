-- Numbers shorter than the one width in which most are written, where some of that width start with a zero.
insert into damaged
with width as (
  select mode(length(number_column)) as usual from staged where number_column is not null
),
zeros as (
  select count(*) as many
  from staged, width
  where starts_with(number_column, '0') and length(number_column) = usual
)
select staged.rowid, $reason, $label
from staged, width, zeros
where zeros.many > 0
  and length(number_column) < usual
  and not starts_with(number_column, '0')
  and regexp_full_match(number_column, '\d+')
