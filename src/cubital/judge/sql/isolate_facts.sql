-- Every isolate with the facts of its set, where the session does not bring them as ``set_isolates``.
create or replace temp view isolate_facts as
select i.set_id, i.organism_key, i.negated,
    not i.negated and row_number() over (partition by i.set_id order by i.negated, i.bottle, i.organism_key) = 1 as leads,
    coalesce(
        min(case when not i.negated then i.organism_key end) over (partition by i.set_id)
            <> max(case when not i.negated then i.organism_key end) over (partition by i.set_id),
        false
    ) as mixed,
    {facts}
from {isolates} i
join sets s on s.set_id = i.set_id
