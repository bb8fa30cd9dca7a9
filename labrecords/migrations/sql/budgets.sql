-- An uncertainty budget counts once somebody else has approved it, for the method version and technique it speaks of.

create function labrecords_check_budget_decision() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if new.by_id = (select by_id from public.labrecords_uncertaintybudget where id = new.budget_id) then
    perform public.labrecords_no('same-person', 'whoever worked out a budget does not decide on it');
  end if;
  return new;
end $$;
create trigger check_decision before insert on labrecords_budgetdecision for each row execute function labrecords_check_budget_decision();
alter table labrecords_budgetdecision enable always trigger check_decision;

create function labrecords_check_study_budget() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if new.budget_id is not null and not exists (
    select 1 from public.labrecords_uncertaintybudget b
      join public.labrecords_budgetdecision d on d.budget_id = b.id and d.approved
      join public.labrecords_setup s on s.study_id = new.id
     where b.id = new.budget_id and b.method_version_id = s.method_version_id and b.technique = s.technique
  ) then
    perform public.labrecords_no('no-budget', 'no approved budget of that method version and technique');
  end if;
  if new.locked_at is not null and new.decision_rule = 'guarded by uncertainty' and new.budget_id is null then
    perform public.labrecords_no('no-budget', 'a guarded decision rule needs an approved budget');
  end if;
  return new;
end $$;
create trigger match_budget before insert or update on labrecords_study for each row execute function labrecords_check_study_budget();
alter table labrecords_study enable always trigger match_budget;
