-- What the partners of a suspect decide.
create or replace temp table verdicts as
with paired as (
    select distinct set_id from mates
),
grown_mates as (
    select m.set_id, i.organism, i.grows from mates m join grown_isolates i on i.set_id = m.mate_id
),
same as (
    select distinct m.set_id
    from grown_mates m
    join same_pairs p on p.b = m.organism
    join grown_isolates own on own.set_id = m.set_id and own.organism = p.a and own.grows = 1
),
different as (
    select distinct set_id from grown_mates where grows = 1
)
select
    c.set_id,
    case when paired.set_id is null then $solitary_class when same.set_id is not null then $same_class
        when different.set_id is not null then $different_class else 'contaminated' end as set_class,
    case when paired.set_id is null then $solitary_reason when same.set_id is not null then 'same_in_both'
        when different.set_id is not null then 'different_in_both' else 'one_of_several' end as reason
from suspects c
left join paired on paired.set_id = c.set_id
left join same on same.set_id = c.set_id
left join different on different.set_id = c.set_id
