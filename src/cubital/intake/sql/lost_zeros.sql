-- Numbers shorter than the one length in which most are written. In: $usual, some numbers of which start with a zero.
insert into damaged
select rowid, $reason, $label
from staged
where length(number_column) < $usual
  and not starts_with(number_column, '0')
  and regexp_full_match(number_column, '\d+')
