-- The sets whose hours were left open, as the sets in hand.
create or replace temp view openings as from unsettled_openings;

create or replace temp view values_in_hand as from unsettled_values
