-- The partners of every suspect: the other sets of its series.
create or replace temp table mates as
select c.set_id, m.set_id as mate_id
from suspects c
join series r on r.set_id = c.set_id
join series m on m.series_id = r.series_id and m.set_id <> r.set_id
