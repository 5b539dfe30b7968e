BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
CREATE TABLE change_log (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	operation_id INTEGER NOT NULL, 
	table_name TEXT NOT NULL, 
	row_key TEXT NOT NULL, 
	"before" TEXT, 
	"after" TEXT, 
	CONSTRAINT fk_change_log_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id)
);
INSERT INTO "change_log" VALUES(1,1,'mesh_type','1','{"is_hidden": true}','{"is_hidden": false}');
INSERT INTO "change_log" VALUES(2,2,'mesh_type','2','{"is_hidden": true}','{"is_hidden": false}');
INSERT INTO "change_log" VALUES(3,3,'mesh_type','3','{"is_hidden": true}','{"is_hidden": false}');
INSERT INTO "change_log" VALUES(4,4,'roll','1','{"is_hidden": true}','{"is_hidden": false}');
INSERT INTO "change_log" VALUES(5,5,'meter','1','{"is_hidden": true}','{"is_hidden": false}');
INSERT INTO "change_log" VALUES(6,6,'setting','shop_name',NULL,'{"value": "Ann\u2019s shop; \u201cnorth\u201d"}');
INSERT INTO "change_log" VALUES(7,6,'setting','length_unit',NULL,'{"value": "inch"}');
CREATE TABLE detail_damaged (
	event_id INTEGER NOT NULL, 
	damage TEXT NOT NULL, 
	mesh_is_done BOOLEAN NOT NULL, 
	"where" TEXT NOT NULL, 
	CONSTRAINT pk_detail_damaged PRIMARY KEY (event_id), 
	CONSTRAINT ck_detail_damaged_damage CHECK (damage IN ('corner_tear', 'hole', 'burst', 'glue_lift', 'ghost', 'bent_bar', 'other')), 
	CONSTRAINT fk_detail_damaged_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
INSERT INTO "detail_damaged" VALUES(53,'corner_tear',0,'');
CREATE TABLE detail_found_with_mesh (
	event_id INTEGER NOT NULL, 
	mesh_type_id INTEGER NOT NULL, 
	reclaims_so_far INTEGER, 
	mesh_since DATETIME, 
	target_n_per_cm DOUBLE, 
	CONSTRAINT pk_detail_found_with_mesh PRIMARY KEY (event_id), 
	CONSTRAINT ck_detail_found_with_mesh_reclaims CHECK (reclaims_so_far >= 0), 
	CONSTRAINT fk_detail_found_with_mesh_event_id FOREIGN KEY(event_id) REFERENCES event (id), 
	CONSTRAINT fk_detail_found_with_mesh_mesh_type_id FOREIGN KEY(mesh_type_id) REFERENCES mesh_type (id)
);
INSERT INTO "detail_found_with_mesh" VALUES(6,2,4,NULL,27.0);
CREATE TABLE detail_glued (
	event_id INTEGER NOT NULL, 
	cure_ends_at DATETIME NOT NULL, 
	adhesive_lot TEXT NOT NULL, 
	activator_lot TEXT NOT NULL, 
	CONSTRAINT pk_detail_glued PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_glued_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
INSERT INTO "detail_glued" VALUES(26,'2026-05-04 07:20:00.000000','','');
INSERT INTO "detail_glued" VALUES(27,'2026-05-04 07:20:00.000000','','');
INSERT INTO "detail_glued" VALUES(28,'2026-05-04 07:20:00.000000','','');
CREATE TABLE detail_held (
	event_id INTEGER NOT NULL, 
	reason TEXT NOT NULL, 
	CONSTRAINT pk_detail_held PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_held_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
INSERT INTO "detail_held" VALUES(51,'rocks on glass');
CREATE TABLE detail_imaged (
	event_id INTEGER NOT NULL, 
	job TEXT NOT NULL, 
	CONSTRAINT pk_detail_imaged PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_imaged_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
INSERT INTO "detail_imaged" VALUES(47,'Job “A”');
CREATE TABLE detail_inspected (
	event_id INTEGER NOT NULL, 
	findings TEXT NOT NULL, 
	CONSTRAINT pk_detail_inspected PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_inspected_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
CREATE TABLE detail_prepped (
	event_id INTEGER NOT NULL, 
	step TEXT NOT NULL, 
	result TEXT NOT NULL, 
	reason TEXT NOT NULL, 
	gap_mm DOUBLE, 
	CONSTRAINT pk_detail_prepped PRIMARY KEY (event_id), 
	CONSTRAINT ck_detail_prepped_result CHECK (result IN ('done', 'skipped', 'failed')), 
	CONSTRAINT ck_detail_prepped_step CHECK (step IN ('inspect', 'old_glue', 'abrade', 'degrease', 'regrind', 'corners')), 
	CONSTRAINT fk_detail_prepped_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
INSERT INTO "detail_prepped" VALUES(7,'inspect','done','',NULL);
INSERT INTO "detail_prepped" VALUES(8,'old_glue','skipped','new frame',NULL);
INSERT INTO "detail_prepped" VALUES(9,'abrade','done','',NULL);
INSERT INTO "detail_prepped" VALUES(10,'corners','done','',NULL);
INSERT INTO "detail_prepped" VALUES(11,'degrease','done','',NULL);
INSERT INTO "detail_prepped" VALUES(12,'inspect','done','',NULL);
INSERT INTO "detail_prepped" VALUES(13,'old_glue','skipped','new frame',NULL);
INSERT INTO "detail_prepped" VALUES(14,'abrade','done','',NULL);
INSERT INTO "detail_prepped" VALUES(15,'corners','done','',NULL);
INSERT INTO "detail_prepped" VALUES(16,'degrease','done','',NULL);
INSERT INTO "detail_prepped" VALUES(17,'inspect','done','',NULL);
INSERT INTO "detail_prepped" VALUES(18,'old_glue','skipped','new frame',NULL);
INSERT INTO "detail_prepped" VALUES(19,'abrade','done','',NULL);
INSERT INTO "detail_prepped" VALUES(20,'corners','done','',NULL);
INSERT INTO "detail_prepped" VALUES(21,'degrease','done','',NULL);
CREATE TABLE detail_printed (
	event_id INTEGER NOT NULL, 
	impressions INTEGER NOT NULL, 
	job TEXT NOT NULL, 
	CONSTRAINT pk_detail_printed PRIMARY KEY (event_id), 
	CONSTRAINT ck_detail_printed_impressions CHECK (impressions >= 0), 
	CONSTRAINT fk_detail_printed_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
CREATE TABLE detail_pulled (
	event_id INTEGER NOT NULL, 
	reason TEXT NOT NULL, 
	CONSTRAINT pk_detail_pulled PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_pulled_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
CREATE TABLE detail_received (
	event_id INTEGER NOT NULL, 
	mesh_type_id INTEGER, 
	target_n_per_cm DOUBLE, 
	CONSTRAINT pk_detail_received PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_received_event_id FOREIGN KEY(event_id) REFERENCES event (id), 
	CONSTRAINT fk_detail_received_mesh_type_id FOREIGN KEY(mesh_type_id) REFERENCES mesh_type (id)
);
CREATE TABLE detail_reclaimed (
	event_id INTEGER NOT NULL, 
	haze_remover BOOLEAN NOT NULL, 
	findings TEXT NOT NULL, 
	CONSTRAINT pk_detail_reclaimed PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_reclaimed_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
INSERT INTO "detail_reclaimed" VALUES(49,0,'');
CREATE TABLE detail_recorrected (
	event_id INTEGER NOT NULL, 
	survey_id INTEGER NOT NULL, 
	correction_n_per_cm DOUBLE NOT NULL, 
	was_n_per_cm DOUBLE NOT NULL, 
	CONSTRAINT pk_detail_recorrected PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_recorrected_event_id FOREIGN KEY(event_id) REFERENCES event (id), 
	CONSTRAINT fk_detail_recorrected_survey_id FOREIGN KEY(survey_id) REFERENCES detail_surveyed (event_id)
);
CREATE TABLE detail_reserved (
	event_id INTEGER NOT NULL, 
	job TEXT NOT NULL, 
	needed_on DATE, 
	CONSTRAINT pk_detail_reserved PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_reserved_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
INSERT INTO "detail_reserved" VALUES(52,'Friday',NULL);
CREATE TABLE detail_retensioned (
	event_id INTEGER NOT NULL, 
	target_n_per_cm DOUBLE NOT NULL, 
	CONSTRAINT pk_detail_retensioned PRIMARY KEY (event_id), 
	CONSTRAINT ck_detail_retensioned_target CHECK (target_n_per_cm > 0 AND target_n_per_cm <= 60), 
	CONSTRAINT fk_detail_retensioned_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
CREATE TABLE detail_retired (
	event_id INTEGER NOT NULL, 
	reason TEXT NOT NULL, 
	CONSTRAINT pk_detail_retired PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_retired_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
CREATE TABLE detail_sent_out (
	event_id INTEGER NOT NULL, 
	"to" TEXT NOT NULL, 
	due_back_on DATE, 
	CONSTRAINT pk_detail_sent_out PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_sent_out_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
CREATE TABLE detail_staged (
	event_id INTEGER NOT NULL, 
	tension_n_per_cm DOUBLE NOT NULL, 
	rest_minutes INTEGER NOT NULL, 
	CONSTRAINT pk_detail_staged PRIMARY KEY (event_id), 
	CONSTRAINT ck_detail_staged_rest CHECK (rest_minutes >= 0), 
	CONSTRAINT ck_detail_staged_tension CHECK (tension_n_per_cm > 0 AND tension_n_per_cm <= 60), 
	CONSTRAINT fk_detail_staged_event_id FOREIGN KEY(event_id) REFERENCES event (id)
);
CREATE TABLE detail_stretched (
	event_id INTEGER NOT NULL, 
	mesh_type_id INTEGER NOT NULL, 
	target_n_per_cm DOUBLE NOT NULL, 
	roll_id INTEGER, 
	frames_in_pull INTEGER NOT NULL, 
	cut_length_mm INTEGER, 
	cut_width_mm INTEGER, 
	warp_along TEXT, 
	CONSTRAINT pk_detail_stretched PRIMARY KEY (event_id), 
	CONSTRAINT ck_detail_stretched_warp_along CHECK (warp_along IN ('long', 'short')), 
	CONSTRAINT ck_detail_stretched_pull CHECK (frames_in_pull >= 1), 
	CONSTRAINT ck_detail_stretched_target CHECK (target_n_per_cm > 0 AND target_n_per_cm <= 60), 
	CONSTRAINT fk_detail_stretched_event_id FOREIGN KEY(event_id) REFERENCES event (id), 
	CONSTRAINT fk_detail_stretched_mesh_type_id FOREIGN KEY(mesh_type_id) REFERENCES mesh_type (id), 
	CONSTRAINT fk_detail_stretched_roll_id FOREIGN KEY(roll_id) REFERENCES roll (id)
);
INSERT INTO "detail_stretched" VALUES(22,1,24.0,1,1,889,686,NULL);
INSERT INTO "detail_stretched" VALUES(23,1,24.0,1,1,889,686,NULL);
INSERT INTO "detail_stretched" VALUES(24,1,24.0,1,1,889,686,NULL);
CREATE TABLE detail_surveyed (
	event_id INTEGER NOT NULL, 
	moment TEXT NOT NULL, 
	meter_id INTEGER, 
	correction_n_per_cm DOUBLE NOT NULL, 
	CONSTRAINT pk_detail_surveyed PRIMARY KEY (event_id), 
	CONSTRAINT ck_detail_surveyed_moment CHECK (moment IN ('in_clamps', 'before_glue', 'after_release', 'in_service')), 
	CONSTRAINT fk_detail_surveyed_event_id FOREIGN KEY(event_id) REFERENCES event (id), 
	CONSTRAINT fk_detail_surveyed_meter_id FOREIGN KEY(meter_id) REFERENCES meter (id)
);
INSERT INTO "detail_surveyed" VALUES(25,'before_glue',1,0.5);
INSERT INTO "detail_surveyed" VALUES(32,'after_release',NULL,0.0);
INSERT INTO "detail_surveyed" VALUES(33,'after_release',1,0.5);
INSERT INTO "detail_surveyed" VALUES(34,'after_release',1,0.5);
INSERT INTO "detail_surveyed" VALUES(35,'in_service',NULL,0.0);
INSERT INTO "detail_surveyed" VALUES(36,'in_service',1,0.5);
INSERT INTO "detail_surveyed" VALUES(37,'in_service',1,0.5);
INSERT INTO "detail_surveyed" VALUES(38,'in_service',NULL,0.0);
INSERT INTO "detail_surveyed" VALUES(39,'in_service',1,0.5);
INSERT INTO "detail_surveyed" VALUES(40,'in_service',1,0.5);
INSERT INTO "detail_surveyed" VALUES(41,'in_service',NULL,0.0);
INSERT INTO "detail_surveyed" VALUES(42,'in_service',1,0.5);
INSERT INTO "detail_surveyed" VALUES(43,'in_service',1,0.5);
INSERT INTO "detail_surveyed" VALUES(44,'in_service',NULL,0.0);
INSERT INTO "detail_surveyed" VALUES(45,'in_service',1,0.5);
INSERT INTO "detail_surveyed" VALUES(46,'in_service',1,0.5);
INSERT INTO "detail_surveyed" VALUES(50,'in_service',NULL,0.0);
INSERT INTO "detail_surveyed" VALUES(54,'in_service',NULL,0.0);
CREATE TABLE detail_withdrawn (
	event_id INTEGER NOT NULL, 
	target_id INTEGER NOT NULL, 
	CONSTRAINT pk_detail_withdrawn PRIMARY KEY (event_id), 
	CONSTRAINT fk_detail_withdrawn_event_id FOREIGN KEY(event_id) REFERENCES event (id), 
	CONSTRAINT fk_detail_withdrawn_target_id FOREIGN KEY(target_id) REFERENCES event (id), 
	CONSTRAINT uq_detail_withdrawn_target_id UNIQUE (target_id)
);
INSERT INTO "detail_withdrawn" VALUES(55,54);
INSERT INTO "detail_withdrawn" VALUES(56,55);
INSERT INTO "detail_withdrawn" VALUES(57,56);
CREATE TABLE event (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	operation_id INTEGER NOT NULL, 
	frame_id INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	schema INTEGER NOT NULL, 
	happened_at DATETIME NOT NULL, 
	recorded_at DATETIME NOT NULL, 
	"by" TEXT NOT NULL, 
	note TEXT NOT NULL, 
	CONSTRAINT ck_event_kind CHECK (kind IN ('registered', 'found_with_mesh', 'prepped', 'stretched', 'staged', 'glued', 'released', 'retensioned', 'surveyed', 'recorrected', 'sent_out', 'received', 'imaged', 'printed', 'to_reclaim', 'reclaimed', 'inspected', 'damaged', 'pulled', 'stripped', 'held', 'hold_ended', 'reserved', 'freed', 'retired', 'missing', 'found', 'withdrawn')), 
	CONSTRAINT fk_event_frame_id FOREIGN KEY(frame_id) REFERENCES frame (id), 
	CONSTRAINT fk_event_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id)
);
INSERT INTO "event" VALUES(1,7,1,'registered',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(2,8,2,'registered',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(3,9,3,'registered',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(4,10,4,'registered',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(5,11,5,'registered',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(6,12,6,'found_with_mesh',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(7,13,1,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(8,13,1,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(9,13,1,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(10,13,1,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(11,13,1,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(12,13,2,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(13,13,2,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(14,13,2,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(15,13,2,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(16,13,2,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(17,13,3,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(18,13,3,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(19,13,3,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(20,13,3,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(21,13,3,'prepped',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(22,14,1,'stretched',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(23,14,2,'stretched',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(24,14,3,'stretched',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(25,15,1,'surveyed',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(26,16,1,'glued',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(27,16,2,'glued',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(28,16,3,'glued',1,'2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','Edda','');
INSERT INTO "event" VALUES(29,17,1,'released',1,'2026-05-04 08:00:00.000000','2026-05-04 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(30,17,2,'released',1,'2026-05-04 08:00:00.000000','2026-05-04 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(31,17,3,'released',1,'2026-05-04 08:00:00.000000','2026-05-04 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(32,18,1,'surveyed',1,'2026-05-04 08:00:00.000000','2026-05-04 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(33,19,2,'surveyed',1,'2026-05-04 08:00:00.000000','2026-05-04 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(34,20,3,'surveyed',1,'2026-05-04 08:00:00.000000','2026-05-04 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(35,21,1,'surveyed',1,'2026-05-05 08:00:00.000000','2026-05-05 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(36,22,2,'surveyed',1,'2026-05-05 08:00:00.000000','2026-05-05 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(37,23,3,'surveyed',1,'2026-05-05 08:00:00.000000','2026-05-05 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(38,24,1,'surveyed',1,'2026-05-08 08:00:00.000000','2026-05-08 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(39,25,2,'surveyed',1,'2026-05-08 08:00:00.000000','2026-05-08 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(40,26,3,'surveyed',1,'2026-05-08 08:00:00.000000','2026-05-08 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(41,27,1,'surveyed',1,'2026-05-15 08:00:00.000000','2026-05-15 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(42,28,2,'surveyed',1,'2026-05-15 08:00:00.000000','2026-05-15 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(43,29,3,'surveyed',1,'2026-05-15 08:00:00.000000','2026-05-15 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(44,30,1,'surveyed',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(45,31,2,'surveyed',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(46,32,3,'surveyed',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(47,33,1,'imaged',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(48,34,1,'to_reclaim',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(49,35,1,'reclaimed',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(50,36,6,'surveyed',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(51,37,4,'held',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(52,38,2,'reserved',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(53,39,3,'damaged',1,'2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(54,40,2,'surveyed',1,'2026-05-30 08:00:00.000000','2026-05-30 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(55,41,2,'withdrawn',1,'2026-05-30 08:00:00.000000','2026-05-30 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(56,42,2,'withdrawn',1,'2026-05-30 08:00:00.000000','2026-05-30 08:00:00.000000','Edda','');
INSERT INTO "event" VALUES(57,43,2,'withdrawn',1,'2026-05-30 08:00:00.000000','2026-05-30 08:00:00.000000','Edda','');
CREATE TABLE frame (
	id INTEGER NOT NULL, 
	number INTEGER NOT NULL, 
	code TEXT NOT NULL, 
	own_label TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	width_mm DOUBLE NOT NULL, 
	height_mm DOUBLE NOT NULL, 
	profile TEXT NOT NULL, 
	slot TEXT NOT NULL, 
	version INTEGER NOT NULL, 
	state TEXT NOT NULL, 
	since DATETIME, 
	last_event_at DATETIME, 
	prep_done TEXT NOT NULL, 
	corners_settled BOOLEAN NOT NULL, 
	stretches INTEGER NOT NULL, 
	stretches_since_regrind INTEGER NOT NULL, 
	hold_reason TEXT, 
	reserved_job TEXT, 
	reserved_for DATE, 
	taken_out_reason TEXT, 
	out_to TEXT, 
	due_back_on DATE, 
	state_before TEXT, 
	awaits_inbound_survey BOOLEAN NOT NULL, 
	mesh_type_id INTEGER, 
	start_event_id INTEGER, 
	started_at DATETIME, 
	target DOUBLE, 
	roll_id INTEGER, 
	day0_at DATETIME, 
	released_at DATETIME, 
	glued_at DATETIME, 
	cure_ends_at DATETIME, 
	reclaims INTEGER NOT NULL, 
	reclaims_known BOOLEAN NOT NULL, 
	reclaims_since_inspection INTEGER NOT NULL, 
	impressions INTEGER NOT NULL, 
	has_stencil BOOLEAN NOT NULL, 
	mesh_is_done BOOLEAN NOT NULL, 
	open_damage TEXT, 
	inspected_at DATETIME, 
	from_outside BOOLEAN NOT NULL, 
	survey_event_id INTEGER, 
	survey_at DATETIME, 
	survey_moment TEXT, 
	survey_mean DOUBLE, 
	survey_lowest DOUBLE, 
	survey_spread DOUBLE, 
	survey_imbalance DOUBLE, 
	survey_meter_id INTEGER, 
	survey_shift DOUBLE, 
	clamp_event_id INTEGER, 
	clamp_at DATETIME, 
	clamp_moment TEXT, 
	clamp_mean DOUBLE, 
	clamp_lowest DOUBLE, 
	clamp_spread DOUBLE, 
	clamp_imbalance DOUBLE, 
	clamp_meter_id INTEGER, 
	clamp_shift DOUBLE, 
	CONSTRAINT pk_frame PRIMARY KEY (id), 
	CONSTRAINT ck_frame_kind CHECK (kind IN ('glued', 'roller')), 
	CONSTRAINT ck_frame_state CHECK (state IN ('bare', 'prepped', 'in_clamps', 'curing', 'ready', 'in_use', 'to_reclaim', 'pulled', 'out', 'missing', 'retired', 'void')), 
	CONSTRAINT ck_frame_survey_moment CHECK (survey_moment IN ('in_clamps', 'before_glue', 'after_release', 'in_service')), 
	CONSTRAINT ck_frame_size CHECK (width_mm > 0 AND height_mm > 0), 
	CONSTRAINT fk_frame_mesh_type_id FOREIGN KEY(mesh_type_id) REFERENCES mesh_type (id), 
	CONSTRAINT fk_frame_roll_id FOREIGN KEY(roll_id) REFERENCES roll (id), 
	CONSTRAINT uq_frame_code UNIQUE (code), 
	CONSTRAINT uq_frame_number UNIQUE (number)
);
INSERT INTO "frame" VALUES(1,1,'FK0001R','W0','glued',584.2,787.4,'','',15,'ready','2026-05-29 08:00:00.000000','2026-05-29 08:00:00.000000','',1,1,1,NULL,NULL,NULL,NULL,NULL,NULL,NULL,0,1,22,'2026-05-04 07:00:00.000000',24.0,1,'2026-05-04 08:00:00.000000','2026-05-04 08:00:00.000000','2026-05-04 07:00:00.000000','2026-05-04 07:20:00.000000',1,1,1,0,0,0,NULL,NULL,0,44,'2026-05-29 08:00:00.000000','in_service',21.6,21.6,0.0,0.0,NULL,0.0,25,'2026-05-04 07:00:00.000000','before_glue',25.5,25.5,0.0,0.0,1,0.0);
INSERT INTO "frame" VALUES(2,2,'FK0002P','W1','glued',584.2,787.4,'','',16,'ready','2026-05-04 08:00:00.000000','2026-05-29 08:00:00.000000','',1,1,1,NULL,'Friday',NULL,NULL,NULL,NULL,NULL,0,1,23,'2026-05-04 07:00:00.000000',24.0,1,'2026-05-04 08:00:00.000000','2026-05-04 08:00:00.000000','2026-05-04 07:00:00.000000','2026-05-04 07:20:00.000000',0,1,0,0,0,0,NULL,NULL,0,45,'2026-05-29 08:00:00.000000','in_service',22.15,22.0,3.00000000000000710542e-01,3.00000000000000710542e-01,1,0.0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "frame" VALUES(3,3,'FK0003N','W2','glued',584.2,787.4,'','',12,'ready','2026-05-04 08:00:00.000000','2026-05-29 08:00:00.000000','',0,1,1,NULL,NULL,NULL,NULL,NULL,NULL,NULL,0,1,24,'2026-05-04 07:00:00.000000',24.0,1,'2026-05-04 08:00:00.000000','2026-05-04 08:00:00.000000','2026-05-04 07:00:00.000000','2026-05-04 07:20:00.000000',0,1,0,0,0,0,'corner_tear',NULL,0,46,'2026-05-29 08:00:00.000000','in_service',22.2,2.1900000000000002132e+01,5.99999999999997868371e-01,5.99999999999997868371e-01,1,0.0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "frame" VALUES(4,4,'FK0004L','W3','glued',584.2,787.4,'','',3,'bare','2026-05-04 07:00:00.000000','2026-05-29 08:00:00.000000','',0,0,0,'rocks on glass',NULL,NULL,NULL,NULL,NULL,NULL,0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,0,1,0,0,0,0,NULL,NULL,0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "frame" VALUES(5,5,'FK0005J','R1','roller',600.0,800.0,'','',2,'bare','2026-05-04 07:00:00.000000','2026-05-04 07:00:00.000000','',0,0,0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,0,1,0,0,0,0,NULL,NULL,0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
INSERT INTO "frame" VALUES(6,6,'FK0006H','old','glued',584.2,787.4,'','',3,'ready','2026-05-04 07:00:00.000000','2026-05-29 08:00:00.000000','',1,1,0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,0,2,6,NULL,27.0,NULL,NULL,NULL,NULL,NULL,4,1,4,0,0,0,NULL,NULL,0,50,'2026-05-29 08:00:00.000000','in_service',22.0,22.0,0.0,NULL,NULL,0.0,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE mesh_type (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	count_as_bought DOUBLE, 
	count_unit TEXT NOT NULL, 
	threads_per_cm DOUBLE, 
	thread_um DOUBLE, 
	weave TEXT NOT NULL, 
	opening_um DOUBLE, 
	thickness_um DOUBLE, 
	colour TEXT NOT NULL, 
	target DOUBLE, 
	tolerance DOUBLE NOT NULL, 
	"limit" DOUBLE, 
	spread_limit DOUBLE, 
	balance_limit DOUBLE, 
	days_between_readings INTEGER, 
	inspect_after_reclaims INTEGER, 
	to_be_completed BOOLEAN NOT NULL, 
	is_hidden BOOLEAN NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_mesh_type PRIMARY KEY (id), 
	CONSTRAINT ck_mesh_type_colour CHECK (colour IN ('white', 'dyed', 'not_told')), 
	CONSTRAINT ck_mesh_type_count_unit CHECK (count_unit IN ('cm', 'inch')), 
	CONSTRAINT ck_mesh_type_limit CHECK ("limit" > 0 AND "limit" <= 60), 
	CONSTRAINT ck_mesh_type_opening CHECK (opening_um IS NULL OR opening_um > 0), 
	CONSTRAINT ck_mesh_type_target CHECK (target > 0 AND target <= 60), 
	CONSTRAINT ck_mesh_type_thickness CHECK (thickness_um IS NULL OR thickness_um > 0), 
	CONSTRAINT ck_mesh_type_thread CHECK (thread_um IS NULL OR thread_um > 0), 
	CONSTRAINT ck_mesh_type_count CHECK (threads_per_cm IS NULL OR threads_per_cm > 0), 
	CONSTRAINT ck_mesh_type_tolerance CHECK (tolerance >= 0), 
	CONSTRAINT uq_mesh_type_name UNIQUE (name)
);
INSERT INTO "mesh_type" VALUES(1,'120-34',120.0,'cm',120.0,34.0,'1:1',NULL,NULL,'not_told',24.0,2.0,18.0,2.0,2.0,7,20,0,0,1);
INSERT INTO "mesh_type" VALUES(2,'77-55 „gelb“ é',77.0,'cm',77.0,55.0,'1:1',NULL,NULL,'dyed',27.0,2.0,21.0,2.0,2.0,NULL,20,0,0,1);
INSERT INTO "mesh_type" VALUES(3,'unfinished',NULL,'inch',NULL,NULL,'1:1',NULL,NULL,'not_told',NULL,2.0,NULL,2.0,2.0,7,20,0,0,1);
CREATE TABLE meter (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	serial TEXT NOT NULL, 
	resolution DOUBLE NOT NULL, 
	correction DOUBLE NOT NULL, 
	u_n_per_cm DOUBLE NOT NULL, 
	repeatability DOUBLE NOT NULL, 
	certificate_months INTEGER NOT NULL, 
	certificate_until DATE, 
	is_hidden BOOLEAN NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_meter PRIMARY KEY (id), 
	CONSTRAINT ck_meter_resolution CHECK (resolution > 0), 
	CONSTRAINT ck_meter_uncertainty CHECK (u_n_per_cm >= 0 AND repeatability >= 0), 
	CONSTRAINT uq_meter_name UNIQUE (name)
);
INSERT INTO "meter" VALUES(1,'M1','',0.5,0.5,0.5,0.3,12,NULL,0,1);
CREATE TABLE meter_check (
	id INTEGER NOT NULL, 
	meter_id INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	happened_at DATETIME NOT NULL, 
	shown DOUBLE, 
	expected DOUBLE, 
	is_good BOOLEAN NOT NULL, 
	valid_until DATE, 
	"by" TEXT NOT NULL, 
	note TEXT NOT NULL, 
	is_hidden BOOLEAN NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_meter_check PRIMARY KEY (id), 
	CONSTRAINT ck_meter_check_certificate CHECK (is_good OR kind <> 'certificate'), 
	CONSTRAINT ck_meter_check_kind CHECK (kind IN ('zero', 'reference', 'certificate', 'drop', 'repair', 'found_out')), 
	CONSTRAINT fk_meter_check_meter_id FOREIGN KEY(meter_id) REFERENCES meter (id)
);
CREATE TABLE operation (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	action TEXT NOT NULL, 
	subject TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	recorded_at DATETIME NOT NULL, 
	undoes_id INTEGER, 
	is_undo BOOLEAN NOT NULL, 
	CONSTRAINT fk_operation_undoes_id FOREIGN KEY(undoes_id) REFERENCES operation (id), 
	CONSTRAINT uq_operation_undoes_id UNIQUE (undoes_id)
);
INSERT INTO "operation" VALUES(1,'add mesh','120-34','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(2,'add mesh','77-55 „gelb“ é','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(3,'add mesh','unfinished','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(4,'receive roll','R0001','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(5,'add meter','M1','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(6,'settings','length_unit, shop_name','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(7,'register','FK0001R (W0)','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(8,'register','FK0002P (W1)','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(9,'register','FK0003N (W2)','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(10,'register','FK0004L (W3)','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(11,'register','FK0005J (R1)','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(12,'register','FK0006H (old)','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(13,'prep','3 frames','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(14,'stretch','3 frames','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(15,'survey','FK0001R (W0)','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(16,'glue','3 frames','Edda','2026-05-04 07:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(17,'release','3 frames','Edda','2026-05-04 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(18,'survey','FK0001R (W0)','Edda','2026-05-04 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(19,'survey','FK0002P (W1)','Edda','2026-05-04 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(20,'survey','FK0003N (W2)','Edda','2026-05-04 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(21,'survey','FK0001R (W0)','Edda','2026-05-05 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(22,'survey','FK0002P (W1)','Edda','2026-05-05 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(23,'survey','FK0003N (W2)','Edda','2026-05-05 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(24,'survey','FK0001R (W0)','Edda','2026-05-08 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(25,'survey','FK0002P (W1)','Edda','2026-05-08 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(26,'survey','FK0003N (W2)','Edda','2026-05-08 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(27,'survey','FK0001R (W0)','Edda','2026-05-15 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(28,'survey','FK0002P (W1)','Edda','2026-05-15 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(29,'survey','FK0003N (W2)','Edda','2026-05-15 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(30,'survey','FK0001R (W0)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(31,'survey','FK0002P (W1)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(32,'survey','FK0003N (W2)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(33,'image','FK0001R (W0)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(34,'queue','FK0001R (W0)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(35,'reclaim','FK0001R (W0)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(36,'survey','FK0006H (old)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(37,'hold','FK0004L (W3)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(38,'reserve','FK0002P (W1)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(39,'damage','FK0003N (W2)','Edda','2026-05-29 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(40,'survey','FK0002P (W1)','Edda','2026-05-30 08:00:00.000000',NULL,0);
INSERT INTO "operation" VALUES(41,'survey','FK0002P (W1)','Edda','2026-05-30 08:00:00.000000',40,1);
INSERT INTO "operation" VALUES(42,'survey','FK0002P (W1)','Edda','2026-05-30 08:00:00.000000',41,0);
INSERT INTO "operation" VALUES(43,'survey','FK0002P (W1)','Edda','2026-05-30 08:00:00.000000',42,1);
CREATE TABLE reading (
	event_id INTEGER NOT NULL, 
	place INTEGER NOT NULL, 
	point INTEGER NOT NULL, 
	direction TEXT NOT NULL, 
	raw_n_per_cm DOUBLE NOT NULL, 
	CONSTRAINT pk_reading PRIMARY KEY (event_id, place), 
	CONSTRAINT ck_reading_direction CHECK (direction IN ('warp', 'weft', 'not_told')), 
	CONSTRAINT ck_reading_point CHECK (point >= 1), 
	CONSTRAINT ck_reading_raw CHECK (raw_n_per_cm > 0 AND raw_n_per_cm <= 60), 
	CONSTRAINT fk_reading_event_id FOREIGN KEY(event_id) REFERENCES detail_surveyed (event_id)
);
INSERT INTO "reading" VALUES(25,1,1,'warp',25.0);
INSERT INTO "reading" VALUES(25,2,1,'weft',25.0);
INSERT INTO "reading" VALUES(25,3,2,'warp',25.0);
INSERT INTO "reading" VALUES(25,4,2,'weft',25.0);
INSERT INTO "reading" VALUES(25,5,3,'warp',25.0);
INSERT INTO "reading" VALUES(25,6,3,'weft',25.0);
INSERT INTO "reading" VALUES(25,7,4,'warp',25.0);
INSERT INTO "reading" VALUES(25,8,4,'weft',25.0);
INSERT INTO "reading" VALUES(25,9,5,'warp',25.0);
INSERT INTO "reading" VALUES(25,10,5,'weft',25.0);
INSERT INTO "reading" VALUES(32,1,1,'warp',24.0);
INSERT INTO "reading" VALUES(32,2,1,'weft',24.0);
INSERT INTO "reading" VALUES(32,3,2,'warp',24.0);
INSERT INTO "reading" VALUES(32,4,2,'weft',24.0);
INSERT INTO "reading" VALUES(32,5,3,'warp',24.0);
INSERT INTO "reading" VALUES(32,6,3,'weft',24.0);
INSERT INTO "reading" VALUES(32,7,4,'warp',24.0);
INSERT INTO "reading" VALUES(32,8,4,'weft',24.0);
INSERT INTO "reading" VALUES(32,9,5,'warp',24.0);
INSERT INTO "reading" VALUES(32,10,5,'weft',24.0);
INSERT INTO "reading" VALUES(33,1,1,'warp',24.2);
INSERT INTO "reading" VALUES(33,2,1,'weft',23.9);
INSERT INTO "reading" VALUES(33,3,2,'warp',24.2);
INSERT INTO "reading" VALUES(33,4,2,'weft',23.9);
INSERT INTO "reading" VALUES(33,5,3,'warp',24.2);
INSERT INTO "reading" VALUES(33,6,3,'weft',23.9);
INSERT INTO "reading" VALUES(33,7,4,'warp',24.2);
INSERT INTO "reading" VALUES(33,8,4,'weft',23.9);
INSERT INTO "reading" VALUES(33,9,5,'warp',24.2);
INSERT INTO "reading" VALUES(33,10,5,'weft',23.9);
INSERT INTO "reading" VALUES(34,1,1,'warp',24.4);
INSERT INTO "reading" VALUES(34,2,1,'weft',23.8);
INSERT INTO "reading" VALUES(34,3,2,'warp',24.4);
INSERT INTO "reading" VALUES(34,4,2,'weft',23.8);
INSERT INTO "reading" VALUES(34,5,3,'warp',24.4);
INSERT INTO "reading" VALUES(34,6,3,'weft',23.8);
INSERT INTO "reading" VALUES(34,7,4,'warp',24.4);
INSERT INTO "reading" VALUES(34,8,4,'weft',23.8);
INSERT INTO "reading" VALUES(34,9,5,'warp',24.4);
INSERT INTO "reading" VALUES(34,10,5,'weft',23.8);
INSERT INTO "reading" VALUES(35,1,1,'warp',22.8);
INSERT INTO "reading" VALUES(35,2,1,'weft',22.8);
INSERT INTO "reading" VALUES(35,3,2,'warp',22.8);
INSERT INTO "reading" VALUES(35,4,2,'weft',22.8);
INSERT INTO "reading" VALUES(35,5,3,'warp',22.8);
INSERT INTO "reading" VALUES(35,6,3,'weft',22.8);
INSERT INTO "reading" VALUES(35,7,4,'warp',22.8);
INSERT INTO "reading" VALUES(35,8,4,'weft',22.8);
INSERT INTO "reading" VALUES(35,9,5,'warp',22.8);
INSERT INTO "reading" VALUES(35,10,5,'weft',22.8);
INSERT INTO "reading" VALUES(36,1,1,'warp',23.0);
INSERT INTO "reading" VALUES(36,2,1,'weft',22.7);
INSERT INTO "reading" VALUES(36,3,2,'warp',23.0);
INSERT INTO "reading" VALUES(36,4,2,'weft',22.7);
INSERT INTO "reading" VALUES(36,5,3,'warp',23.0);
INSERT INTO "reading" VALUES(36,6,3,'weft',22.7);
INSERT INTO "reading" VALUES(36,7,4,'warp',23.0);
INSERT INTO "reading" VALUES(36,8,4,'weft',22.7);
INSERT INTO "reading" VALUES(36,9,5,'warp',23.0);
INSERT INTO "reading" VALUES(36,10,5,'weft',22.7);
INSERT INTO "reading" VALUES(37,1,1,'warp',23.2);
INSERT INTO "reading" VALUES(37,2,1,'weft',22.6);
INSERT INTO "reading" VALUES(37,3,2,'warp',23.2);
INSERT INTO "reading" VALUES(37,4,2,'weft',22.6);
INSERT INTO "reading" VALUES(37,5,3,'warp',23.2);
INSERT INTO "reading" VALUES(37,6,3,'weft',22.6);
INSERT INTO "reading" VALUES(37,7,4,'warp',23.2);
INSERT INTO "reading" VALUES(37,8,4,'weft',22.6);
INSERT INTO "reading" VALUES(37,9,5,'warp',23.2);
INSERT INTO "reading" VALUES(37,10,5,'weft',22.6);
INSERT INTO "reading" VALUES(38,1,1,'warp',22.3);
INSERT INTO "reading" VALUES(38,2,1,'weft',22.3);
INSERT INTO "reading" VALUES(38,3,2,'warp',22.3);
INSERT INTO "reading" VALUES(38,4,2,'weft',22.3);
INSERT INTO "reading" VALUES(38,5,3,'warp',22.3);
INSERT INTO "reading" VALUES(38,6,3,'weft',22.3);
INSERT INTO "reading" VALUES(38,7,4,'warp',22.3);
INSERT INTO "reading" VALUES(38,8,4,'weft',22.3);
INSERT INTO "reading" VALUES(38,9,5,'warp',22.3);
INSERT INTO "reading" VALUES(38,10,5,'weft',22.3);
INSERT INTO "reading" VALUES(39,1,1,'warp',22.5);
INSERT INTO "reading" VALUES(39,2,1,'weft',22.2);
INSERT INTO "reading" VALUES(39,3,2,'warp',22.5);
INSERT INTO "reading" VALUES(39,4,2,'weft',22.2);
INSERT INTO "reading" VALUES(39,5,3,'warp',22.5);
INSERT INTO "reading" VALUES(39,6,3,'weft',22.2);
INSERT INTO "reading" VALUES(39,7,4,'warp',22.5);
INSERT INTO "reading" VALUES(39,8,4,'weft',22.2);
INSERT INTO "reading" VALUES(39,9,5,'warp',22.5);
INSERT INTO "reading" VALUES(39,10,5,'weft',22.2);
INSERT INTO "reading" VALUES(40,1,1,'warp',22.7);
INSERT INTO "reading" VALUES(40,2,1,'weft',22.1);
INSERT INTO "reading" VALUES(40,3,2,'warp',22.7);
INSERT INTO "reading" VALUES(40,4,2,'weft',22.1);
INSERT INTO "reading" VALUES(40,5,3,'warp',22.7);
INSERT INTO "reading" VALUES(40,6,3,'weft',22.1);
INSERT INTO "reading" VALUES(40,7,4,'warp',22.7);
INSERT INTO "reading" VALUES(40,8,4,'weft',22.1);
INSERT INTO "reading" VALUES(40,9,5,'warp',22.7);
INSERT INTO "reading" VALUES(40,10,5,'weft',22.1);
INSERT INTO "reading" VALUES(41,1,1,'warp',21.9);
INSERT INTO "reading" VALUES(41,2,1,'weft',21.9);
INSERT INTO "reading" VALUES(41,3,2,'warp',21.9);
INSERT INTO "reading" VALUES(41,4,2,'weft',21.9);
INSERT INTO "reading" VALUES(41,5,3,'warp',21.9);
INSERT INTO "reading" VALUES(41,6,3,'weft',21.9);
INSERT INTO "reading" VALUES(41,7,4,'warp',21.9);
INSERT INTO "reading" VALUES(41,8,4,'weft',21.9);
INSERT INTO "reading" VALUES(41,9,5,'warp',21.9);
INSERT INTO "reading" VALUES(41,10,5,'weft',21.9);
INSERT INTO "reading" VALUES(42,1,1,'warp',2.20999999999999978688e+01);
INSERT INTO "reading" VALUES(42,2,1,'weft',2.17999999999999971578e+01);
INSERT INTO "reading" VALUES(42,3,2,'warp',2.20999999999999978688e+01);
INSERT INTO "reading" VALUES(42,4,2,'weft',2.17999999999999971578e+01);
INSERT INTO "reading" VALUES(42,5,3,'warp',2.20999999999999978688e+01);
INSERT INTO "reading" VALUES(42,6,3,'weft',2.17999999999999971578e+01);
INSERT INTO "reading" VALUES(42,7,4,'warp',2.20999999999999978688e+01);
INSERT INTO "reading" VALUES(42,8,4,'weft',2.17999999999999971578e+01);
INSERT INTO "reading" VALUES(42,9,5,'warp',2.20999999999999978688e+01);
INSERT INTO "reading" VALUES(42,10,5,'weft',2.17999999999999971578e+01);
INSERT INTO "reading" VALUES(43,1,1,'warp',2.22999999999999971573e+01);
INSERT INTO "reading" VALUES(43,2,1,'weft',21.7);
INSERT INTO "reading" VALUES(43,3,2,'warp',2.22999999999999971573e+01);
INSERT INTO "reading" VALUES(43,4,2,'weft',21.7);
INSERT INTO "reading" VALUES(43,5,3,'warp',2.22999999999999971573e+01);
INSERT INTO "reading" VALUES(43,6,3,'weft',21.7);
INSERT INTO "reading" VALUES(43,7,4,'warp',2.22999999999999971573e+01);
INSERT INTO "reading" VALUES(43,8,4,'weft',21.7);
INSERT INTO "reading" VALUES(43,9,5,'warp',2.22999999999999971573e+01);
INSERT INTO "reading" VALUES(43,10,5,'weft',21.7);
INSERT INTO "reading" VALUES(44,1,1,'warp',21.6);
INSERT INTO "reading" VALUES(44,2,1,'weft',21.6);
INSERT INTO "reading" VALUES(44,3,2,'warp',21.6);
INSERT INTO "reading" VALUES(44,4,2,'weft',21.6);
INSERT INTO "reading" VALUES(44,5,3,'warp',21.6);
INSERT INTO "reading" VALUES(44,6,3,'weft',21.6);
INSERT INTO "reading" VALUES(44,7,4,'warp',21.6);
INSERT INTO "reading" VALUES(44,8,4,'weft',21.6);
INSERT INTO "reading" VALUES(44,9,5,'warp',21.6);
INSERT INTO "reading" VALUES(44,10,5,'weft',21.6);
INSERT INTO "reading" VALUES(45,1,1,'warp',21.8);
INSERT INTO "reading" VALUES(45,2,1,'weft',21.5);
INSERT INTO "reading" VALUES(45,3,2,'warp',21.8);
INSERT INTO "reading" VALUES(45,4,2,'weft',21.5);
INSERT INTO "reading" VALUES(45,5,3,'warp',21.8);
INSERT INTO "reading" VALUES(45,6,3,'weft',21.5);
INSERT INTO "reading" VALUES(45,7,4,'warp',21.8);
INSERT INTO "reading" VALUES(45,8,4,'weft',21.5);
INSERT INTO "reading" VALUES(45,9,5,'warp',21.8);
INSERT INTO "reading" VALUES(45,10,5,'weft',21.5);
INSERT INTO "reading" VALUES(46,1,1,'warp',22.0);
INSERT INTO "reading" VALUES(46,2,1,'weft',2.14000000000000021324e+01);
INSERT INTO "reading" VALUES(46,3,2,'warp',22.0);
INSERT INTO "reading" VALUES(46,4,2,'weft',2.14000000000000021324e+01);
INSERT INTO "reading" VALUES(46,5,3,'warp',22.0);
INSERT INTO "reading" VALUES(46,6,3,'weft',2.14000000000000021324e+01);
INSERT INTO "reading" VALUES(46,7,4,'warp',22.0);
INSERT INTO "reading" VALUES(46,8,4,'weft',2.14000000000000021324e+01);
INSERT INTO "reading" VALUES(46,9,5,'warp',22.0);
INSERT INTO "reading" VALUES(46,10,5,'weft',2.14000000000000021324e+01);
INSERT INTO "reading" VALUES(50,1,1,'not_told',22.0);
INSERT INTO "reading" VALUES(54,1,1,'warp',30.0);
INSERT INTO "reading" VALUES(54,2,1,'weft',30.0);
INSERT INTO "reading" VALUES(54,3,2,'warp',30.0);
INSERT INTO "reading" VALUES(54,4,2,'weft',30.0);
INSERT INTO "reading" VALUES(54,5,3,'warp',30.0);
INSERT INTO "reading" VALUES(54,6,3,'weft',30.0);
INSERT INTO "reading" VALUES(54,7,4,'warp',30.0);
INSERT INTO "reading" VALUES(54,8,4,'weft',30.0);
INSERT INTO "reading" VALUES(54,9,5,'warp',30.0);
INSERT INTO "reading" VALUES(54,10,5,'weft',30.0);
CREATE TABLE roll (
	id INTEGER NOT NULL, 
	code TEXT NOT NULL, 
	mesh_type_id INTEGER NOT NULL, 
	lot TEXT NOT NULL, 
	supplier TEXT NOT NULL, 
	width_mm INTEGER NOT NULL, 
	is_hidden BOOLEAN NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_roll PRIMARY KEY (id), 
	CONSTRAINT ck_roll_width CHECK (width_mm > 0), 
	CONSTRAINT fk_roll_mesh_type_id FOREIGN KEY(mesh_type_id) REFERENCES mesh_type (id), 
	CONSTRAINT uq_roll_code UNIQUE (code)
);
INSERT INTO "roll" VALUES(1,'R0001',1,'A7','Weberei Lund',1500,0,1);
CREATE TABLE setting (
	"key" TEXT NOT NULL, 
	value TEXT NOT NULL, 
	CONSTRAINT pk_setting PRIMARY KEY ("key")
);
INSERT INTO "setting" VALUES('shop_name','"Ann\u2019s shop; \u201cnorth\u201d"');
INSERT INTO "setting" VALUES('length_unit','"inch"');
CREATE TABLE stock_move (
	id INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT, 
	operation_id INTEGER NOT NULL, 
	mesh_type_id INTEGER NOT NULL, 
	roll_id INTEGER, 
	event_id INTEGER, 
	kind TEXT NOT NULL, 
	length_mm INTEGER NOT NULL, 
	width_mm INTEGER, 
	happened_at DATETIME NOT NULL, 
	reason TEXT NOT NULL, 
	reverses_id INTEGER, 
	CONSTRAINT ck_stock_move_kind CHECK (kind IN ('received', 'cut', 'scrapped', 'counted')), 
	CONSTRAINT fk_stock_move_event_id FOREIGN KEY(event_id) REFERENCES event (id), 
	CONSTRAINT fk_stock_move_mesh_type_id FOREIGN KEY(mesh_type_id) REFERENCES mesh_type (id), 
	CONSTRAINT fk_stock_move_operation_id FOREIGN KEY(operation_id) REFERENCES operation (id), 
	CONSTRAINT fk_stock_move_reverses_id FOREIGN KEY(reverses_id) REFERENCES stock_move (id), 
	CONSTRAINT fk_stock_move_roll_id FOREIGN KEY(roll_id) REFERENCES roll (id), 
	CONSTRAINT uq_stock_move_reverses_id UNIQUE (reverses_id)
);
INSERT INTO "stock_move" VALUES(1,4,1,1,NULL,'received',30000,NULL,'2026-05-04 07:00:00.000000','',NULL);
INSERT INTO "stock_move" VALUES(2,14,1,1,22,'cut',-889,686,'2026-05-04 07:00:00.000000','',NULL);
INSERT INTO "stock_move" VALUES(3,14,1,1,23,'cut',-889,686,'2026-05-04 07:00:00.000000','',NULL);
INSERT INTO "stock_move" VALUES(4,14,1,1,24,'cut',-889,686,'2026-05-04 07:00:00.000000','',NULL);
CREATE TABLE study (
	id INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	meter_id INTEGER NOT NULL, 
	other_meter_id INTEGER, 
	happened_at DATETIME NOT NULL, 
	readings TEXT NOT NULL, 
	"by" TEXT NOT NULL, 
	note TEXT NOT NULL, 
	is_hidden BOOLEAN NOT NULL, 
	version INTEGER NOT NULL, 
	CONSTRAINT pk_study PRIMARY KEY (id), 
	CONSTRAINT ck_study_kind CHECK (kind IN ('gauge', 'comparison')), 
	CONSTRAINT fk_study_meter_id FOREIGN KEY(meter_id) REFERENCES meter (id), 
	CONSTRAINT fk_study_other_meter_id FOREIGN KEY(other_meter_id) REFERENCES meter (id)
);
CREATE INDEX ix_change_log_operation_id ON change_log (operation_id);
CREATE INDEX ix_meter_check_meter_id ON meter_check (meter_id);
CREATE INDEX ix_roll_mesh_type_id ON roll (mesh_type_id);
CREATE INDEX ix_study_meter_id ON study (meter_id);
CREATE INDEX ix_frame_mesh_type_id ON frame (mesh_type_id);
CREATE INDEX ix_frame_own_label ON frame (own_label);
CREATE INDEX ix_frame_state ON frame (state);
CREATE INDEX ix_event_frame_id ON event (frame_id);
CREATE INDEX ix_event_happened_at ON event (happened_at);
CREATE INDEX ix_event_operation_id ON event (operation_id);
CREATE INDEX ix_detail_surveyed_meter_id ON detail_surveyed (meter_id);
CREATE INDEX ix_stock_move_event_id ON stock_move (event_id);
CREATE INDEX ix_stock_move_mesh_type_id ON stock_move (mesh_type_id);
CREATE INDEX ix_stock_move_operation_id ON stock_move (operation_id);
CREATE INDEX ix_stock_move_roll_id ON stock_move (roll_id);
CREATE INDEX ix_detail_recorrected_survey_id ON detail_recorrected (survey_id);
CREATE TRIGGER keep_operation_update BEFORE UPDATE ON operation BEGIN SELECT RAISE(ABORT, 'rows of operation are never changed or deleted'); END;
CREATE TRIGGER keep_operation_delete BEFORE DELETE ON operation BEGIN SELECT RAISE(ABORT, 'rows of operation are never changed or deleted'); END;
CREATE TRIGGER keep_event_update BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, 'rows of event are never changed or deleted'); END;
CREATE TRIGGER keep_event_delete BEFORE DELETE ON event BEGIN SELECT RAISE(ABORT, 'rows of event are never changed or deleted'); END;
CREATE TRIGGER keep_reading_update BEFORE UPDATE ON reading BEGIN SELECT RAISE(ABORT, 'rows of reading are never changed or deleted'); END;
CREATE TRIGGER keep_reading_delete BEFORE DELETE ON reading BEGIN SELECT RAISE(ABORT, 'rows of reading are never changed or deleted'); END;
CREATE TRIGGER keep_stock_move_update BEFORE UPDATE ON stock_move BEGIN SELECT RAISE(ABORT, 'rows of stock_move are never changed or deleted'); END;
CREATE TRIGGER keep_stock_move_delete BEFORE DELETE ON stock_move BEGIN SELECT RAISE(ABORT, 'rows of stock_move are never changed or deleted'); END;
CREATE TRIGGER keep_change_log_update BEFORE UPDATE ON change_log BEGIN SELECT RAISE(ABORT, 'rows of change_log are never changed or deleted'); END;
CREATE TRIGGER keep_change_log_delete BEFORE DELETE ON change_log BEGIN SELECT RAISE(ABORT, 'rows of change_log are never changed or deleted'); END;
CREATE TRIGGER keep_detail_found_with_mesh_update BEFORE UPDATE ON detail_found_with_mesh BEGIN SELECT RAISE(ABORT, 'rows of detail_found_with_mesh are never changed or deleted'); END;
CREATE TRIGGER keep_detail_found_with_mesh_delete BEFORE DELETE ON detail_found_with_mesh BEGIN SELECT RAISE(ABORT, 'rows of detail_found_with_mesh are never changed or deleted'); END;
CREATE TRIGGER keep_detail_prepped_update BEFORE UPDATE ON detail_prepped BEGIN SELECT RAISE(ABORT, 'rows of detail_prepped are never changed or deleted'); END;
CREATE TRIGGER keep_detail_prepped_delete BEFORE DELETE ON detail_prepped BEGIN SELECT RAISE(ABORT, 'rows of detail_prepped are never changed or deleted'); END;
CREATE TRIGGER keep_detail_stretched_update BEFORE UPDATE ON detail_stretched BEGIN SELECT RAISE(ABORT, 'rows of detail_stretched are never changed or deleted'); END;
CREATE TRIGGER keep_detail_stretched_delete BEFORE DELETE ON detail_stretched BEGIN SELECT RAISE(ABORT, 'rows of detail_stretched are never changed or deleted'); END;
CREATE TRIGGER keep_detail_staged_update BEFORE UPDATE ON detail_staged BEGIN SELECT RAISE(ABORT, 'rows of detail_staged are never changed or deleted'); END;
CREATE TRIGGER keep_detail_staged_delete BEFORE DELETE ON detail_staged BEGIN SELECT RAISE(ABORT, 'rows of detail_staged are never changed or deleted'); END;
CREATE TRIGGER keep_detail_glued_update BEFORE UPDATE ON detail_glued BEGIN SELECT RAISE(ABORT, 'rows of detail_glued are never changed or deleted'); END;
CREATE TRIGGER keep_detail_glued_delete BEFORE DELETE ON detail_glued BEGIN SELECT RAISE(ABORT, 'rows of detail_glued are never changed or deleted'); END;
CREATE TRIGGER keep_detail_retensioned_update BEFORE UPDATE ON detail_retensioned BEGIN SELECT RAISE(ABORT, 'rows of detail_retensioned are never changed or deleted'); END;
CREATE TRIGGER keep_detail_retensioned_delete BEFORE DELETE ON detail_retensioned BEGIN SELECT RAISE(ABORT, 'rows of detail_retensioned are never changed or deleted'); END;
CREATE TRIGGER keep_detail_surveyed_update BEFORE UPDATE ON detail_surveyed BEGIN SELECT RAISE(ABORT, 'rows of detail_surveyed are never changed or deleted'); END;
CREATE TRIGGER keep_detail_surveyed_delete BEFORE DELETE ON detail_surveyed BEGIN SELECT RAISE(ABORT, 'rows of detail_surveyed are never changed or deleted'); END;
CREATE TRIGGER keep_detail_recorrected_update BEFORE UPDATE ON detail_recorrected BEGIN SELECT RAISE(ABORT, 'rows of detail_recorrected are never changed or deleted'); END;
CREATE TRIGGER keep_detail_recorrected_delete BEFORE DELETE ON detail_recorrected BEGIN SELECT RAISE(ABORT, 'rows of detail_recorrected are never changed or deleted'); END;
CREATE TRIGGER keep_detail_sent_out_update BEFORE UPDATE ON detail_sent_out BEGIN SELECT RAISE(ABORT, 'rows of detail_sent_out are never changed or deleted'); END;
CREATE TRIGGER keep_detail_sent_out_delete BEFORE DELETE ON detail_sent_out BEGIN SELECT RAISE(ABORT, 'rows of detail_sent_out are never changed or deleted'); END;
CREATE TRIGGER keep_detail_received_update BEFORE UPDATE ON detail_received BEGIN SELECT RAISE(ABORT, 'rows of detail_received are never changed or deleted'); END;
CREATE TRIGGER keep_detail_received_delete BEFORE DELETE ON detail_received BEGIN SELECT RAISE(ABORT, 'rows of detail_received are never changed or deleted'); END;
CREATE TRIGGER keep_detail_imaged_update BEFORE UPDATE ON detail_imaged BEGIN SELECT RAISE(ABORT, 'rows of detail_imaged are never changed or deleted'); END;
CREATE TRIGGER keep_detail_imaged_delete BEFORE DELETE ON detail_imaged BEGIN SELECT RAISE(ABORT, 'rows of detail_imaged are never changed or deleted'); END;
CREATE TRIGGER keep_detail_printed_update BEFORE UPDATE ON detail_printed BEGIN SELECT RAISE(ABORT, 'rows of detail_printed are never changed or deleted'); END;
CREATE TRIGGER keep_detail_printed_delete BEFORE DELETE ON detail_printed BEGIN SELECT RAISE(ABORT, 'rows of detail_printed are never changed or deleted'); END;
CREATE TRIGGER keep_detail_reclaimed_update BEFORE UPDATE ON detail_reclaimed BEGIN SELECT RAISE(ABORT, 'rows of detail_reclaimed are never changed or deleted'); END;
CREATE TRIGGER keep_detail_reclaimed_delete BEFORE DELETE ON detail_reclaimed BEGIN SELECT RAISE(ABORT, 'rows of detail_reclaimed are never changed or deleted'); END;
CREATE TRIGGER keep_detail_inspected_update BEFORE UPDATE ON detail_inspected BEGIN SELECT RAISE(ABORT, 'rows of detail_inspected are never changed or deleted'); END;
CREATE TRIGGER keep_detail_inspected_delete BEFORE DELETE ON detail_inspected BEGIN SELECT RAISE(ABORT, 'rows of detail_inspected are never changed or deleted'); END;
CREATE TRIGGER keep_detail_damaged_update BEFORE UPDATE ON detail_damaged BEGIN SELECT RAISE(ABORT, 'rows of detail_damaged are never changed or deleted'); END;
CREATE TRIGGER keep_detail_damaged_delete BEFORE DELETE ON detail_damaged BEGIN SELECT RAISE(ABORT, 'rows of detail_damaged are never changed or deleted'); END;
CREATE TRIGGER keep_detail_pulled_update BEFORE UPDATE ON detail_pulled BEGIN SELECT RAISE(ABORT, 'rows of detail_pulled are never changed or deleted'); END;
CREATE TRIGGER keep_detail_pulled_delete BEFORE DELETE ON detail_pulled BEGIN SELECT RAISE(ABORT, 'rows of detail_pulled are never changed or deleted'); END;
CREATE TRIGGER keep_detail_held_update BEFORE UPDATE ON detail_held BEGIN SELECT RAISE(ABORT, 'rows of detail_held are never changed or deleted'); END;
CREATE TRIGGER keep_detail_held_delete BEFORE DELETE ON detail_held BEGIN SELECT RAISE(ABORT, 'rows of detail_held are never changed or deleted'); END;
CREATE TRIGGER keep_detail_reserved_update BEFORE UPDATE ON detail_reserved BEGIN SELECT RAISE(ABORT, 'rows of detail_reserved are never changed or deleted'); END;
CREATE TRIGGER keep_detail_reserved_delete BEFORE DELETE ON detail_reserved BEGIN SELECT RAISE(ABORT, 'rows of detail_reserved are never changed or deleted'); END;
CREATE TRIGGER keep_detail_retired_update BEFORE UPDATE ON detail_retired BEGIN SELECT RAISE(ABORT, 'rows of detail_retired are never changed or deleted'); END;
CREATE TRIGGER keep_detail_retired_delete BEFORE DELETE ON detail_retired BEGIN SELECT RAISE(ABORT, 'rows of detail_retired are never changed or deleted'); END;
CREATE TRIGGER keep_detail_withdrawn_update BEFORE UPDATE ON detail_withdrawn BEGIN SELECT RAISE(ABORT, 'rows of detail_withdrawn are never changed or deleted'); END;
CREATE TRIGGER keep_detail_withdrawn_delete BEFORE DELETE ON detail_withdrawn BEGIN SELECT RAISE(ABORT, 'rows of detail_withdrawn are never changed or deleted'); END;
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('operation',43);
INSERT INTO "sqlite_sequence" VALUES('change_log',7);
INSERT INTO "sqlite_sequence" VALUES('stock_move',4);
INSERT INTO "sqlite_sequence" VALUES('event',57);
COMMIT;
