-- A validation study is planned before its data: people and criteria are frozen with the set-up, and the order is
-- drawn before the first result. Its decision is by somebody who pulled none of its strips.

create trigger keep_setup before insert or update or delete on labrecords_validationplan for each row execute function labrecords_keep_setup();
create trigger keep_table before truncate on labrecords_validationplan for each statement execute function labrecords_keep();
alter table labrecords_validationplan enable always trigger keep_setup;
alter table labrecords_validationplan enable always trigger keep_table;

create function labrecords_keep_validation() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
declare
  touched uuid;
begin
  foreach touched in array array[
    case when tg_op <> 'INSERT' then old.plan_id end, case when tg_op <> 'DELETE' then new.plan_id end
  ] loop
    if public.labrecords_frozen_study((select study_id from public.labrecords_validationplan where id = touched)) then
      perform public.labrecords_no('setup-locked', tg_op || ' on ' || tg_table_name || ': the set-up is locked');
    end if;
  end loop;
  if tg_op = 'DELETE' then return old; end if;
  return new;
end $$;
create trigger keep_validation before insert or update or delete on labrecords_validationperson for each row execute function labrecords_keep_validation();
create trigger keep_validation before insert or update or delete on labrecords_criterion for each row execute function labrecords_keep_validation();
create trigger keep_table before truncate on labrecords_validationperson for each statement execute function labrecords_keep();
create trigger keep_table before truncate on labrecords_criterion for each statement execute function labrecords_keep();
alter table labrecords_validationperson enable always trigger keep_validation;
alter table labrecords_criterion enable always trigger keep_validation;
alter table labrecords_validationperson enable always trigger keep_table;
alter table labrecords_criterion enable always trigger keep_table;

create function labrecords_check_order() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if exists (select 1 from public.labrecords_run where study_id = new.study_id) then
    perform public.labrecords_no('order-early', 'an order is drawn before the first run');
  end if;
  return new;
end $$;
create trigger check_order before insert on labrecords_pullorder for each row execute function labrecords_check_order();
alter table labrecords_pullorder enable always trigger check_order;

create function labrecords_check_validation_decision() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if exists (select 1 from public.labrecords_result r join public.labrecords_run n on n.id = r.run_id
              where n.study_id = new.study_id and r.tested_by_id = new.by_id) then
    perform public.labrecords_no('same-person', 'whoever pulled strips of a validation does not decide on it');
  end if;
  if not exists (select 1 from public.labrecords_review where study_id = new.study_id and accepted) then
    perform public.labrecords_no('validation-open', 'the results have not been accepted');
  end if;
  return new;
end $$;
create trigger check_decision before insert on labrecords_validationdecision for each row execute function labrecords_check_validation_decision();
alter table labrecords_validationdecision enable always trigger check_decision;

-- Authorisations rest on a passed study, so its testing is not opened again.
create function labrecords_keep_decided() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if (old.state, new.state) in (('in review', 'testing'), ('reviewed', 'testing'), ('released', 'in review'))
     and exists (select 1 from public.labrecords_validationdecision where study_id = new.id and passed) then
    perform public.labrecords_no('already-decided', 'the validation in ' || old.code || ' has been decided');
  end if;
  return new;
end $$;
create trigger keep_decided before update on labrecords_study for each row execute function labrecords_keep_decided();
alter table labrecords_study enable always trigger keep_decided;

-- An authorisation that rests on a study rests on one that was passed, in which the person took part, under the same
-- method version and technique.
create function labrecords_check_evidence() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if new.study_id is not null and not exists (
    select 1 from public.labrecords_validationdecision d
      join public.labrecords_validationplan p on p.study_id = d.study_id
      join public.labrecords_validationperson v on v.plan_id = p.id and v.person_id = new.person_id
      join public.labrecords_setup s on s.study_id = d.study_id
     where d.study_id = new.study_id and d.passed
       and s.method_version_id = new.method_version_id and s.technique = new.technique
  ) then
    perform public.labrecords_no('not-shown-to-agree', 'no passed validation of that method and technique names the person');
  end if;
  return new;
end $$;
create trigger check_evidence before insert on labrecords_authorisation for each row execute function labrecords_check_evidence();
alter table labrecords_authorisation enable always trigger check_evidence;
