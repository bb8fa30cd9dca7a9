-- A second factor stays whose and what it was; its counter never goes back, and its end is final. A recovery code is
-- used once. A badge stays whose it is and ends for good; its PIN is set anew by its owner.

create function labrecords_check_factor() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if old.ended_at is not null or (to_jsonb(new) - '{counter,last_used_at,ended_at,ended_by_id,ended_why}'::text[])
     is distinct from (to_jsonb(old) - '{counter,last_used_at,ended_at,ended_by_id,ended_why}'::text[]) then
    perform public.labrecords_no('factor-ended', 'a second factor is ended and added anew, never changed');
  end if;
  if old.kind = 'app' and new.last_used_at is distinct from old.last_used_at and new.counter <= old.counter then
    perform public.labrecords_no('used-code', 'a code of this step, or of a later one, was used already');
  end if;
  if new.counter < old.counter or (old.kind = 'passkey' and new.last_used_at is distinct from old.last_used_at
     and new.counter <= old.counter and old.counter > 0) then
    perform public.labrecords_no('passkey-counter', 'the counter of a second factor does not go back');
  end if;
  return new;
end $$;
create trigger check_factor before update on labrecords_secondfactor for each row execute function labrecords_check_factor();
alter table labrecords_secondfactor enable always trigger check_factor;

create function labrecords_check_recovery() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if old.used_at is not null or old.ended_at is not null
     or (new.person_id, new.digest, new.made_at) is distinct from (old.person_id, old.digest, old.made_at) then
    perform public.labrecords_no('used-code', 'a recovery code is used once and never changed');
  end if;
  return new;
end $$;
create trigger check_recovery before update on labrecords_recoverycode for each row execute function labrecords_check_recovery();
alter table labrecords_recoverycode enable always trigger check_recovery;

create function labrecords_check_badge() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if old.ended_at is not null or (to_jsonb(new) - '{pin,pin_set_at,ended_at,ended_by_id,ended_why}'::text[])
     is distinct from (to_jsonb(old) - '{pin,pin_set_at,ended_at,ended_by_id,ended_why}'::text[]) then
    perform public.labrecords_no('badge-ended', 'a badge is ended and made anew, never changed but for its PIN');
  end if;
  return new;
end $$;
create trigger check_badge before update on labrecords_badge for each row execute function labrecords_check_badge();
alter table labrecords_badge enable always trigger check_badge;
