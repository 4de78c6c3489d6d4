-- Sets whose collection or receipt reads an hour that occurs twice: taken out of the stretch until every set is known,
-- because only the order of all accessions settles which of the two hours was meant.
create temp table if not exists unsettled_values as from set_values limit 0;

create temp table if not exists unsettled_openings (row_set bigint, accession varchar, patient_key bigint);

create or replace temp view openings as
select home as row_set, accession, patient_key from lines where opens;

insert into unsettled_values
select v.*
from set_values v
left join clock c on c.day = cast(v.collected as date) and c.repeats
left join clock r on r.day = cast(v.received as date) and r.repeats
where (v.collected >= c.change_from and v.collected < c.change_to)
   or (v.received >= r.change_from and v.received < r.change_to);

insert into unsettled_openings
select o.* from openings o semi join unsettled_values using (row_set);

create or replace temp view values_in_hand as
select v.* from set_values v anti join unsettled_values using (row_set)
