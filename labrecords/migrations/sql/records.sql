-- Records are kept: rows of these tables are added and read, by anybody, the owner included.
-- A statement trigger has no old row, so the two kinds of trigger share a function that looks at nothing.
-- In every function pg_temp is named last: unnamed it would be searched first, and anybody could lay a type of
-- their own under a function's words.

create function labrecords_keep() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  raise exception '% on % is refused: records are kept as they are', tg_op, tg_table_name
    using errcode = '23514', constraint = 'record-is-kept';
end $$;

create function labrecords_keep_table(name text) returns void language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  execute format('create trigger keep_rows before update or delete on public.%I for each row execute function public.labrecords_keep()', name);
  execute format('create trigger keep_table before truncate on public.%I for each statement execute function public.labrecords_keep()', name);
  -- "always": a session that calls itself a replica does not get past
  execute format('alter table public.%I enable always trigger keep_rows', name);
  execute format('alter table public.%I enable always trigger keep_table', name);
end $$;

select labrecords_keep_table(name) from unnest(array[
  'labrecords_authorisation', 'labrecords_withdrawal', 'labrecords_methodversion',
  'labrecords_calibration', 'labrecords_calibrationreview', 'labrecords_equipmentevent',
  'labrecords_equipmentdocument', 'labrecords_checkbaseline', 'labrecords_checkreading',
  'labrecords_discrepancy', 'labrecords_discrepancyanswer', 'labrecords_treatment',
  'labrecords_nonconformity', 'labrecords_studyhold', 'labrecords_reportinquestion', 'labrecords_nonconformitystep',
  'labrecords_lot', 'labrecords_pack', 'labrecords_specimen', 'labrecords_conditioning', 'labrecords_custodyevent',
  'labrecords_result', 'labrecords_void', 'labrecords_refusal', 'labrecords_entry',
  'labrecords_deviation', 'labrecords_deviationdecision',
  'labrecords_tracefile', 'labrecords_tracelayout', 'labrecords_trace',
  'labrecords_photo', 'labrecords_photoaside',
  'labrecords_waitingfile', 'labrecords_traydecision', 'labrecords_labelprint', 'labrecords_scannercheck',
  'labrecords_review', 'labrecords_signature',
  'labrecords_settingevidence', 'labrecords_derivedlimit', 'labrecords_limitdecision',
  'labrecords_signin', 'labrecords_reportamendment', 'labrecords_reportwithdrawal',
  'labrecords_reportlink', 'labrecords_linkrevocation', 'labrecords_linkfailure',
  'labrecords_archiveorder', 'labrecords_archive',
  'labrecords_correction', 'labrecords_correctiondecision',
  'labrecords_protocol', 'labrecords_protocolanswer',
  'labrecords_uncertaintybudget', 'labrecords_budgetdecision',
  'labrecords_pullorder', 'labrecords_pullplace', 'labrecords_validationdecision',
  'labrecords_report', 'labrecords_reportfile', 'labrecords_opening',
  'labrecords_event', 'labrecords_seal'
]) as name;

-- Bytes that do not compress again are stored out of line, uncompressed: reads of a part stay cheap.
alter table labrecords_trace alter column samples set storage external;
alter table labrecords_tracefile alter column content set storage external;
alter table labrecords_waitingfile alter column content set storage external;
alter table labrecords_reportfile alter column content set storage external;
alter table labrecords_equipmentdocument alter column content set storage external;
alter table labrecords_photo alter column content set storage external;
alter table labrecords_archive alter column content set storage external;
alter table labrecords_photo alter column shown set storage external;
