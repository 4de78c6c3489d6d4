-- HMAC-SHA256(secret, facility + unit separator + number), its first eight bytes without the sign: a positive 63-bit key.
-- inner and outer are the secret's two padded blocks (RFC 2104). Only the key leaves this statement.
create or replace temp table look_patients as
with numbers as (
  select distinct patient as text from parsed where patient is not null
),
hashed as (
  select
    text,
    sha256($outer::blob || unhex(sha256($inner::blob || encode($facility || chr(31) || text)))) as digest
  from numbers
)
select
  text,
  (('0x' || left(digest, 16))::ubigint & 9223372036854775807::ubigint)::bigint as patient_key
from hashed
