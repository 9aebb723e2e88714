BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL,
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('add_photos');
CREATE TABLE appliances (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	circuit_id VARCHAR(48) NOT NULL,
	kind VARCHAR(48) NOT NULL,
	volts INTEGER NOT NULL,
	load_w FLOAT NOT NULL,
	figure_source VARCHAR(16) NOT NULL,
	CONSTRAINT pk_appliances PRIMARY KEY (site_id, id),
	CONSTRAINT fk_appliances_site_id_circuit_id_circuits FOREIGN KEY(site_id, circuit_id) REFERENCES circuits (site_id, id),
	CONSTRAINT fk_appliances_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "appliances" VALUES('full-site','a-load',1024,'a-load','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":1.0},"note":""}','a','other',120,1200.0,'guess');
INSERT INTO "appliances" VALUES('full-site','b-load',1024,'b-load','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":1.0},"note":""}','b','other',120,600.0,'guess');
INSERT INTO "appliances" VALUES('full-site','c-load',1024,'c-load','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":1.0},"note":""}','c','other',120,1800.0,'guess');
INSERT INTO "appliances" VALUES('full-site','d-load',1024,'d-load','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":1.0},"note":""}','d','other',240,2400.0,'guess');
INSERT INTO "appliances" VALUES('full-site','e-load',1024,'e-load','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":1.0},"note":""}','e','other',120,900.0,'guess');
INSERT INTO "appliances" VALUES('full-site','f-load',1024,'f-load','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":1.0},"note":""}','f','other',240,4500.0,'guess');
INSERT INTO "appliances" VALUES('full-site','load-0-0',1024,'load-0-0','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":0.3},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n0','other',120,100.1,'guess');
INSERT INTO "appliances" VALUES('full-site','load-0-1',2048,'load-0-1','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":0.3},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n0','other',120,200.2,'guess');
INSERT INTO "appliances" VALUES('full-site','load-0-2',3072,'load-0-2','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":0.3},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n0','other',120,3.00299999999999954534e+02,'guess');
INSERT INTO "appliances" VALUES('full-site','load-2-0',1024,'load-2-0','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"cycle","on_min":7.5,"off_min":21.0,"spread":0.2},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n2','other',120,100.1,'guess');
INSERT INTO "appliances" VALUES('full-site','load-2-1',2048,'load-2-1','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"cycle","on_min":7.5,"off_min":21.0,"spread":0.2},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n2','other',120,200.2,'guess');
INSERT INTO "appliances" VALUES('full-site','load-2-2',3072,'load-2-2','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"cycle","on_min":7.5,"off_min":21.0,"spread":0.2},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n2','other',120,3.00299999999999954534e+02,'guess');
INSERT INTO "appliances" VALUES('full-site','load-3-0',1024,'load-3-0','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"timed","stages":[{"minutes":12.0,"share":1.0,"cycle_on_s":0.0,"cycle_off_s":0.0},{"minutes":40.0,"share":0.5,"cycle_on_s":30.0,"cycle_off_s":0.0}],"starts":[{"hour":17.25,"chance":0.8,"spread_min":0.0}]},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n3','other',120,100.1,'guess');
INSERT INTO "appliances" VALUES('full-site','load-3-1',2048,'load-3-1','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"timed","stages":[{"minutes":12.0,"share":1.0,"cycle_on_s":0.0,"cycle_off_s":0.0},{"minutes":40.0,"share":0.5,"cycle_on_s":30.0,"cycle_off_s":0.0}],"starts":[{"hour":17.25,"chance":0.8,"spread_min":0.0}]},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n3','other',120,200.2,'guess');
INSERT INTO "appliances" VALUES('full-site','load-3-2',3072,'load-3-2','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"timed","stages":[{"minutes":12.0,"share":1.0,"cycle_on_s":0.0,"cycle_off_s":0.0},{"minutes":40.0,"share":0.5,"cycle_on_s":30.0,"cycle_off_s":0.0}],"starts":[{"hour":17.25,"chance":0.8,"spread_min":0.0}]},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n3','other',120,3.00299999999999954534e+02,'guess');
INSERT INTO "appliances" VALUES('full-site','load-4-0',1024,'load-4-0','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"charger","energy_kwh":11.2,"arrive_hour":18.0,"depart_hour":7.0},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n4','other',120,100.1,'guess');
INSERT INTO "appliances" VALUES('full-site','load-4-1',2048,'load-4-1','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"charger","energy_kwh":11.2,"arrive_hour":18.0,"depart_hour":7.0},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n4','other',120,200.2,'guess');
INSERT INTO "appliances" VALUES('full-site','load-4-2',3072,'load-4-2','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"charger","energy_kwh":11.2,"arrive_hour":18.0,"depart_hour":7.0},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n4','other',120,3.00299999999999954534e+02,'guess');
INSERT INTO "appliances" VALUES('full-site','load-5-0',1024,'load-5-0','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"tank","gallons":50.0,"setpoint_f":125.0,"deadband_f":8.0,"loss_btuh_per_f":2.5,"inlet_f":58.0,"room_f":65.0,"cop":1.0,"heat_pump_w":null,"boost_below_f":25.0,"boost_on_set":false,"upper_share":0.33,"draw_gal":5.0,"draw_gpm":2.0,"draws_gal_by_hour":[2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0]},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n5','other',120,100.1,'guess');
INSERT INTO "appliances" VALUES('full-site','load-5-1',2048,'load-5-1','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"tank","gallons":50.0,"setpoint_f":125.0,"deadband_f":8.0,"loss_btuh_per_f":2.5,"inlet_f":58.0,"room_f":65.0,"cop":1.0,"heat_pump_w":null,"boost_below_f":25.0,"boost_on_set":false,"upper_share":0.33,"draw_gal":5.0,"draw_gpm":2.0,"draws_gal_by_hour":[2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0]},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n5','other',120,200.2,'guess');
INSERT INTO "appliances" VALUES('full-site','load-5-2',3072,'load-5-2','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"tank","gallons":50.0,"setpoint_f":125.0,"deadband_f":8.0,"loss_btuh_per_f":2.5,"inlet_f":58.0,"room_f":65.0,"cop":1.0,"heat_pump_w":null,"boost_below_f":25.0,"boost_on_set":false,"upper_share":0.33,"draw_gal":5.0,"draw_gpm":2.0,"draws_gal_by_hour":[2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0,2.0]},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n5','other',120,3.00299999999999954534e+02,'guess');
INSERT INTO "appliances" VALUES('full-site','load-6-0',1024,'load-6-0','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"room","zone_id":"upstairs","mode":"heat","cop":2.7,"ratings":[],"deadband_f":1.5,"stage_drop_f":0.0,"min_off_min":0.0,"min_on_min":0.0,"least_share":1.0,"off_above_f":null,"off_below_f":null,"on_generator":true,"defrost_every_min":0.0,"defrost_min":6.0,"tempers_defrost":false,"ducted":false,"own_room_share":0.0},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n6','other',120,100.1,'guess');
INSERT INTO "appliances" VALUES('full-site','load-6-1',2048,'load-6-1','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"room","zone_id":"upstairs","mode":"heat","cop":2.7,"ratings":[],"deadband_f":1.5,"stage_drop_f":0.0,"min_off_min":0.0,"min_on_min":0.0,"least_share":1.0,"off_above_f":null,"off_below_f":null,"on_generator":true,"defrost_every_min":0.0,"defrost_min":6.0,"tempers_defrost":false,"ducted":false,"own_room_share":0.0},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n6','other',120,200.2,'guess');
INSERT INTO "appliances" VALUES('full-site','load-6-2',3072,'load-6-2','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"room","zone_id":"upstairs","mode":"heat","cop":2.7,"ratings":[],"deadband_f":1.5,"stage_drop_f":0.0,"min_off_min":0.0,"min_on_min":0.0,"least_share":1.0,"off_above_f":null,"off_below_f":null,"on_generator":true,"defrost_every_min":0.0,"defrost_min":6.0,"tempers_defrost":false,"ducted":false,"own_room_share":0.0},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d"}','n6','other',120,3.00299999999999954534e+02,'guess');
INSERT INTO "appliances" VALUES('put-away','a-load',1024,'a-load','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":1.0},"note":""}','a','other',120,1200.0,'guess');
INSERT INTO "appliances" VALUES('put-away','b-load',1024,'b-load','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":1.0},"note":""}','b','other',120,600.0,'guess');
INSERT INTO "appliances" VALUES('put-away','c-load',1024,'c-load','{"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"constant","share":1.0},"note":""}','c','other',240,2400.0,'guess');
CREATE TABLE batteries (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	panel_id VARCHAR(48) NOT NULL,
	usable_kwh FLOAT NOT NULL,
	grid_forming BOOLEAN NOT NULL,
	CONSTRAINT pk_batteries PRIMARY KEY (site_id, id),
	CONSTRAINT fk_batteries_site_id_panel_id_panels FOREIGN KEY(site_id, panel_id) REFERENCES panels (site_id, id),
	CONSTRAINT fk_batteries_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "batteries" VALUES('full-site','bank',1024,'Bank','{"inverter_kw":5.0,"note":""}','main',13.5,0);
CREATE TABLE changes (
	site_id VARCHAR(64) NOT NULL,
	seq INTEGER NOT NULL,
	label VARCHAR(200) NOT NULL,
	made_at DATETIME NOT NULL,
	dropped BOOLEAN NOT NULL,
	parts JSON NOT NULL,
	CONSTRAINT pk_changes PRIMARY KEY (site_id, seq),
	CONSTRAINT fk_changes_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "changes" VALUES('full-site',0,'Created','2026-11-26 21:26:36.543853',0,'[]');
INSERT INTO "changes" VALUES('put-away',0,'Created','2026-11-26 21:26:37.049247',0,'[]');
INSERT INTO "changes" VALUES('full-site',1,'Removed n1','2026-11-26 21:26:37.189452',0,'[{"table":"circuits","id":"n1","before":{"id":"n1","name":"Circuit n1","panel_id":"wing-0","poles":1,"spaces":[2],"half":null,"breaker_a":20.0,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"load_class":"comfort","shed_order":null,"own_battery_min":null,"allowed_gap_min":0.30000000000000004,"outage_role":"on","energy_group_id":null,"pinned":false,"area":"","note":"","traced":"not_yet","photo":null,"position":8192},"after":null},{"table":"appliances","id":"load-1-0","before":{"id":"load-1-0","name":"load-1-0","kind":"other","volts":120,"load_w":100.1,"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","figure_source":"guess","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"hourly","shares":[0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.3333333333333333]},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d","circuit_id":"n1","position":1024},"after":null},{"table":"appliances","id":"load-1-1","before":{"id":"load-1-1","name":"load-1-1","kind":"other","volts":120,"load_w":200.2,"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","figure_source":"guess","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"hourly","shares":[0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.3333333333333333]},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d","circuit_id":"n1","position":2048},"after":null},{"table":"appliances","id":"load-1-2","before":{"id":"load-1-2","name":"load-1-2","kind":"other","volts":120,"load_w":300.29999999999995,"part_120_w":0.0,"on_pole":1,"power_factor":1.0,"load_type":"electronic","figure_source":"guess","horsepower":null,"locked_rotor_a":null,"code_letter":null,"min_circuit_a":null,"max_device_a":null,"start_share":1.0,"restart":"by_itself","restart_delay_s":0.0,"behaviour":{"model":"hourly","shares":[0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.3333333333333333]},"note":"K\u00fcche \u2014 \u00bd \u201con\u201d","circuit_id":"n1","position":3072},"after":null}]');
INSERT INTO "changes" VALUES('full-site',2,'Pinned n3','2026-11-26 21:26:37.431039',0,'[{"table":"circuits","id":"n3","before":{"id":"n3","name":"Circuit n3","panel_id":"wing-0","poles":1,"spaces":[4],"half":null,"breaker_a":20.0,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"load_class":"comfort","shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"outage_role":"on","energy_group_id":null,"pinned":false,"area":"","note":"","traced":"not_yet","photo":null,"position":10240},"after":{"id":"n3","name":"Circuit n3","panel_id":"wing-0","poles":1,"spaces":[4],"half":null,"breaker_a":20.0,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"load_class":"comfort","shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"outage_role":"on","energy_group_id":null,"pinned":true,"area":"","note":"","traced":"not_yet","photo":null,"position":10240}}]');
CREATE TABLE circuits (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	panel_id VARCHAR(48) NOT NULL,
	poles INTEGER NOT NULL,
	breaker_a FLOAT NOT NULL,
	load_class VARCHAR(16) NOT NULL,
	outage_role VARCHAR(16) NOT NULL,
	pinned BOOLEAN NOT NULL,
	CONSTRAINT pk_circuits PRIMARY KEY (site_id, id),
	CONSTRAINT fk_circuits_site_id_panel_id_panels FOREIGN KEY(site_id, panel_id) REFERENCES panels (site_id, id),
	CONSTRAINT fk_circuits_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "circuits" VALUES('full-site','a',1024,'Circuit a','{"spaces":[1],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','main',1,20.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('full-site','b',2048,'Circuit b','{"spaces":[1],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','backed',1,20.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('full-site','c',3072,'Circuit c','{"spaces":[3],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','backed',1,20.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('full-site','d',4096,'Circuit d','{"spaces":[5,7],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','backed',2,30.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('full-site','e',5120,'Circuit e','{"spaces":[1],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','swing',1,20.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('full-site','f',6144,'Circuit f','{"spaces":[5,7],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','swing',2,30.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('full-site','n0',7168,'Circuit n0','{"spaces":[1],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','wing-0',1,20.0,'comfort','on',1);
INSERT INTO "circuits" VALUES('full-site','n2',9216,'Circuit n2','{"spaces":[3],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":0.30000000000000004,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','wing-0',1,20.0,'comfort','on',1);
INSERT INTO "circuits" VALUES('full-site','n3',10240,'Circuit n3','{"spaces":[4],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','wing-0',1,20.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('full-site','n4',11264,'Circuit n4','{"spaces":[5],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":0.30000000000000004,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','wing-0',1,20.0,'comfort','on',1);
INSERT INTO "circuits" VALUES('full-site','n5',12288,'Circuit n5','{"spaces":[6],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":0.30000000000000004,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','wing-0',1,20.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('full-site','n6',13312,'Circuit n6','{"spaces":[7],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','wing-0',1,20.0,'comfort','on',1);
INSERT INTO "circuits" VALUES('put-away','a',1024,'Circuit a','{"spaces":[1],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','main',1,20.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('put-away','b',2048,'Circuit b','{"spaces":[3],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','main',1,20.0,'comfort','on',0);
INSERT INTO "circuits" VALUES('put-away','c',3072,'Circuit c','{"spaces":[5,7],"half":null,"breaker_type":"standard","full_rated":false,"continuous":false,"multiwire_partner_id":null,"grounding":"four_wire","wire_size":null,"wire_metal":"copper","is_new":false,"shed_order":null,"own_battery_min":null,"allowed_gap_min":null,"energy_group_id":null,"area":"","note":"","traced":"not_yet","photo":null}','main',2,30.0,'comfort','on',0);
CREATE TABLE double_throws (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	rating_a FLOAT NOT NULL,
	resting VARCHAR(16) NOT NULL,
	CONSTRAINT pk_double_throws PRIMARY KEY (site_id, id),
	CONSTRAINT fk_double_throws_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "double_throws" VALUES('full-site','throw',1024,'Double-throw','{"poles":3,"motion_s":5.0,"switches_neutral":true,"figure_source":"nameplate","note":""}',60.0,'normal');
CREATE TABLE feeders (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	from_id VARCHAR(48) NOT NULL,
	to_id VARCHAR(48) NOT NULL,
	to_input VARCHAR(16),
	breaker_a FLOAT,
	CONSTRAINT pk_feeders PRIMARY KEY (site_id, id),
	CONSTRAINT fk_feeders_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "feeders" VALUES('full-site','grid-main',1024,'Feeder grid-main','{"full_rated":false,"spaces":[],"ampacity_a":null,"neutral_ampacity_a":null,"swap_legs":false,"segments":[],"figure_source":"nameplate","note":""}','grid','main',NULL,NULL);
INSERT INTO "feeders" VALUES('full-site','main-ats-utility',2048,'Feeder main-ats-utility','{"full_rated":false,"spaces":[2,4],"ampacity_a":null,"neutral_ampacity_a":null,"swap_legs":false,"segments":[],"figure_source":"nameplate","note":""}','main','ats','utility',100.0);
INSERT INTO "feeders" VALUES('full-site','set-ats-generator',3072,'Feeder set-ats-generator','{"full_rated":false,"spaces":[],"ampacity_a":null,"neutral_ampacity_a":null,"swap_legs":false,"segments":[],"figure_source":"nameplate","note":""}','set','ats','generator',90.0);
INSERT INTO "feeders" VALUES('full-site','ats-backed',4096,'Feeder ats-backed','{"full_rated":false,"spaces":[],"ampacity_a":null,"neutral_ampacity_a":null,"swap_legs":false,"segments":[],"figure_source":"nameplate","note":""}','ats','backed',NULL,NULL);
INSERT INTO "feeders" VALUES('full-site','main-throw-normal',5120,'Feeder main-throw-normal','{"full_rated":false,"spaces":[6,8],"ampacity_a":null,"neutral_ampacity_a":null,"swap_legs":false,"segments":[],"figure_source":"nameplate","note":""}','main','throw','normal',60.0);
INSERT INTO "feeders" VALUES('full-site','backed-throw-backed-up',6144,'Feeder backed-throw-backed-up','{"full_rated":false,"spaces":[2,4],"ampacity_a":null,"neutral_ampacity_a":null,"swap_legs":false,"segments":[],"figure_source":"nameplate","note":""}','backed','throw','backed_up',60.0);
INSERT INTO "feeders" VALUES('full-site','throw-swing',7168,'Feeder throw-swing','{"full_rated":false,"spaces":[],"ampacity_a":null,"neutral_ampacity_a":null,"swap_legs":false,"segments":[],"figure_source":"nameplate","note":""}','throw','swing',NULL,NULL);
INSERT INTO "feeders" VALUES('full-site','grid-wing-0',8192,'Feeder grid-wing-0','{"full_rated":false,"spaces":[],"ampacity_a":null,"neutral_ampacity_a":null,"swap_legs":false,"segments":[{"run_ft":150.0,"size":"3","metal":"copper","sets":1,"insulation":"THWN-2","neutral_size":null,"ground_size":null,"ground_metal":"copper","raceway":"","raceway_trade_size":"","terminal_c":null,"ambient_f":null,"current_carrying":null}],"figure_source":"nameplate","note":""}','grid','wing-0',NULL,NULL);
INSERT INTO "feeders" VALUES('put-away','grid-main',1024,'Feeder grid-main','{"full_rated":false,"spaces":[],"ampacity_a":null,"neutral_ampacity_a":null,"swap_legs":false,"segments":[],"figure_source":"nameplate","note":""}','grid','main',NULL,NULL);
CREATE TABLE generators (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	rated_kw FLOAT NOT NULL,
	system VARCHAR(8) NOT NULL,
	fuel VARCHAR(16) NOT NULL,
	portable BOOLEAN NOT NULL,
	CONSTRAINT pk_generators PRIMARY KEY (site_id, id),
	CONSTRAINT fk_generators_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "generators" VALUES('full-site','set',1024,'Generator set','{"rated_kva":null,"start":"automatic","start_delay_s":10.0,"retry_s":30.0,"cool_down_min":5.0,"oil_check_h":null,"breaker_a":null,"receptacle_a":null,"cord_a":null,"inlet_a":null,"fuel_points":[{"load_kw":0.0,"rate_per_h":1.5}],"tank":{"capacity_gal":500.0,"fill_share":0.8,"reserve_share":0.2},"reactance_pu":null,"start_kva_limit":null,"altitude_derate_per_1000ft":0.035,"altitude_free_ft":0.0,"heat_derate_per_10f":0.01,"heat_free_f":77.0,"neutral_bonded":false,"figure_source":"nameplate","note":""}',20.0,'120/240','propane',0);
CREATE TABLE panels (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	rating_a FLOAT NOT NULL,
	main_a FLOAT,
	spaces INTEGER NOT NULL,
	CONSTRAINT pk_panels PRIMARY KEY (site_id, id),
	CONSTRAINT fk_panels_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "panels" VALUES('full-site','main',1024,'Panel main','{"tandem_spaces":[],"neutral_bonded":true,"detached_building":false,"interrupting_a":null,"floor_area_ft2":null,"figure_source":"nameplate","location":"","note":""}',200.0,200.0,20);
INSERT INTO "panels" VALUES('full-site','backed',2048,'Panel backed','{"tandem_spaces":[],"neutral_bonded":false,"detached_building":false,"interrupting_a":null,"floor_area_ft2":null,"figure_source":"nameplate","location":"","note":""}',125.0,NULL,20);
INSERT INTO "panels" VALUES('full-site','swing',3072,'Panel swing','{"tandem_spaces":[],"neutral_bonded":false,"detached_building":false,"interrupting_a":null,"floor_area_ft2":null,"figure_source":"nameplate","location":"","note":""}',100.0,NULL,20);
INSERT INTO "panels" VALUES('full-site','wing-0',4096,'Panel wing-0','{"tandem_spaces":[],"neutral_bonded":false,"detached_building":false,"interrupting_a":null,"floor_area_ft2":null,"figure_source":"nameplate","location":"","note":""}',200.0,NULL,42);
INSERT INTO "panels" VALUES('put-away','main',1024,'Panel main','{"tandem_spaces":[],"neutral_bonded":true,"detached_building":false,"interrupting_a":null,"floor_area_ft2":null,"figure_source":"nameplate","location":"","note":""}',200.0,200.0,20);
CREATE TABLE photos (
	id VARCHAR(64) NOT NULL,
	media_type VARCHAR(16) NOT NULL,
	width_px INTEGER NOT NULL,
	height_px INTEGER NOT NULL,
	taken_in_at DATETIME NOT NULL,
	data BLOB NOT NULL,
	CONSTRAINT pk_photos PRIMARY KEY (id)
);
CREATE TABLE scenarios (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	start DATETIME NOT NULL,
	span_h FLOAT NOT NULL,
	step_s INTEGER NOT NULL,
	CONSTRAINT pk_scenarios PRIMARY KEY (site_id, id),
	CONSTRAINT fk_scenarios_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "scenarios" VALUES('full-site','day',1024,'Scenario day','{"proves":"","weather":{"low_f":40.0,"high_f":40.0,"hottest_hour":15.0,"hourly_f":[],"sun_share":0.6,"hourly_sun_share":[]},"outages":[],"people":null,"pit_inflow_gpm":null,"events":[],"switch_moves":[],"hand_windows":[],"kept_off":[],"generator":"ready","start_tries":1,"generator_stops":[],"oil_stop_min":null,"generator_exercise":[],"hand_start_min":15.0,"hand_return_min":20.0,"fuel_at_start_share":1.0,"deliveries":[],"seed":1,"draws":1,"note":""}','2026-11-26 12:00:00.000000',6.0,60);
INSERT INTO "scenarios" VALUES('full-site','out',2048,'Scenario out','{"proves":"","weather":{"low_f":40.0,"high_f":40.0,"hottest_hour":15.0,"hourly_f":[],"sun_share":0.6,"hourly_sun_share":[]},"outages":[{"start":"2026-11-26T14:00:00","end":"2026-11-26T17:00:00"}],"people":null,"pit_inflow_gpm":null,"events":[],"switch_moves":[],"hand_windows":[],"kept_off":[],"generator":"ready","start_tries":1,"generator_stops":[],"oil_stop_min":null,"generator_exercise":[],"hand_start_min":15.0,"hand_return_min":20.0,"fuel_at_start_share":1.0,"deliveries":[],"seed":1,"draws":1,"note":""}','2026-11-26 12:00:00.000000',6.0,60);
INSERT INTO "scenarios" VALUES('full-site','gale',3072,'Scenario gale','{"proves":"","weather":{"low_f":40.0,"high_f":40.0,"hottest_hour":15.0,"hourly_f":[],"sun_share":0.6,"hourly_sun_share":[]},"outages":[],"people":null,"pit_inflow_gpm":null,"events":[{"appliance_id":"load-3-0","at":"2027-01-09T08:00:00","energy_kwh":null}],"switch_moves":[{"switch_id":"throw","at":"2027-01-09T09:00:00","position":"backed_up"}],"hand_windows":[],"kept_off":[],"generator":"ready","start_tries":1,"generator_stops":[],"oil_stop_min":null,"generator_exercise":[],"hand_start_min":15.0,"hand_return_min":20.0,"fuel_at_start_share":1.0,"deliveries":[{"at":"2027-01-09T10:00:00","gallons":80.0}],"seed":9223372036854775807,"draws":1,"note":""}','2027-01-09 05:30:15.250000',6.0,60);
INSERT INTO "scenarios" VALUES('put-away','day',1024,'Scenario day','{"proves":"","weather":{"low_f":40.0,"high_f":40.0,"hottest_hour":15.0,"hourly_f":[],"sun_share":0.6,"hourly_sun_share":[]},"outages":[],"people":null,"pit_inflow_gpm":null,"events":[],"switch_moves":[],"hand_windows":[],"kept_off":[],"generator":"ready","start_tries":1,"generator_stops":[],"oil_stop_min":null,"generator_exercise":[],"hand_start_min":15.0,"hand_return_min":20.0,"fuel_at_start_share":1.0,"deliveries":[],"seed":1,"draws":1,"note":""}','2026-11-26 12:00:00.000000',6.0,60);
CREATE TABLE services (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	system VARCHAR(8) NOT NULL,
	main_a FLOAT NOT NULL,
	CONSTRAINT pk_services PRIMARY KEY (site_id, id),
	CONSTRAINT fk_services_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "services" VALUES('full-site','grid',1024,'Service grid','{"meter_socket_a":null,"fault_current_a":null,"figure_source":"nameplate","note":""}','120/240',200.0);
INSERT INTO "services" VALUES('put-away','grid',1024,'Service grid','{"meter_socket_a":null,"fault_current_a":null,"figure_source":"nameplate","note":""}','120/240',200.0);
CREATE TABLE sites (
	id VARCHAR(64) NOT NULL,
	name VARCHAR(80) NOT NULL,
	place_name VARCHAR(80) NOT NULL,
	code_edition VARCHAR(8) NOT NULL,
	people INTEGER NOT NULL,
	body JSON NOT NULL,
	revision INTEGER NOT NULL,
	head_seq INTEGER NOT NULL,
	saved_at DATETIME NOT NULL,
	deleted_at DATETIME,
	CONSTRAINT pk_sites PRIMARY KEY (id)
);
INSERT INTO "sites" VALUES('full-site','Ω house № 7','Fern Hollow','2023',4,'{"place":{"latitude_deg":44.123456789012344,"longitude_deg":-98.0,"time_zone":"America/Chicago","altitude_ft":0.3333333333333333},"design_low_f":15.0,"design_high_f":95.0,"floor_area_ft2":null,"amendments":[],"tariff":{"import_per_kwh":0.1,"export_per_kwh":null,"fuel_per_unit":null},"note":"First line\nsecond line","energy_groups":[],"demand_records":[],"clamp_readings":[]}',4,1,'2026-11-26 21:26:37.841810',NULL);
INSERT INTO "sites" VALUES('put-away','Normal only','Unnamed place','2023',4,'{"place":{"latitude_deg":39.0,"longitude_deg":-98.0,"time_zone":"America/Chicago","altitude_ft":0.0},"design_low_f":15.0,"design_high_f":95.0,"floor_area_ft2":null,"amendments":[],"tariff":{"import_per_kwh":null,"export_per_kwh":null,"fuel_per_unit":null},"note":"","energy_groups":[],"demand_records":[],"clamp_readings":[]}',1,0,'2026-11-26 21:26:37.049247','2026-11-26 21:26:37.107928');
CREATE TABLE solar (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	panel_id VARCHAR(48) NOT NULL,
	dc_kw FLOAT NOT NULL,
	ac_kw FLOAT NOT NULL,
	CONSTRAINT pk_solar PRIMARY KEY (site_id, id),
	CONSTRAINT fk_solar_site_id_panel_id_panels FOREIGN KEY(site_id, panel_id) REFERENCES panels (site_id, id),
	CONSTRAINT fk_solar_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "solar" VALUES('full-site','sun',1024,'Roof solar','{"tilt_deg":25.0,"azimuth_deg":180.0,"breaker_a":30.0,"spaces":[18,20],"grid_following":true,"reconnect_s":300.0,"losses_share":0.14,"figure_source":"nameplate","note":""}','main',6.0,5.0);
CREATE TABLE transfer_switches (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	kind VARCHAR(16) NOT NULL,
	rating_a FLOAT NOT NULL,
	CONSTRAINT pk_transfer_switches PRIMARY KEY (site_id, id),
	CONSTRAINT fk_transfer_switches_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "transfer_switches" VALUES('full-site','ats',1024,'Transfer switch','{"poles":2,"transfer_delay_s":5.0,"return_delay_min":10.0,"motion_s":1.0,"service_rated":false,"switches_neutral":false,"withstand_a":null,"handles":[],"figure_source":"nameplate","note":""}','automatic',100.0);
CREATE TABLE zones (
	site_id VARCHAR(64) NOT NULL,
	id VARCHAR(48) NOT NULL,
	position INTEGER NOT NULL,
	name VARCHAR(80) NOT NULL,
	body JSON NOT NULL,
	heat_setpoint_f FLOAT NOT NULL,
	cool_setpoint_f FLOAT NOT NULL,
	CONSTRAINT pk_zones PRIMARY KEY (site_id, id),
	CONSTRAINT fk_zones_site_id_sites FOREIGN KEY(site_id) REFERENCES sites (id)
);
INSERT INTO "zones" VALUES('full-site','upstairs',1024,'Upstairs','{"loss_btuh_per_f":300.0,"time_constant_h":25.0,"gain_btuh":0.0,"sun_ft2":0.0,"heat_setback_f":null,"cool_setback_f":null,"setback_from_hour":22.0,"setback_to_hour":6.0,"cold_f":55.0,"hot_f":90.0,"pipes_f":40.0,"figure_source":"nameplate"}',68.0,76.0);
INSERT INTO "zones" VALUES('full-site','cellar',2048,'Cellar','{"loss_btuh_per_f":120.5,"time_constant_h":25.0,"gain_btuh":0.0,"sun_ft2":0.0,"heat_setback_f":null,"cool_setback_f":null,"setback_from_hour":22.0,"setback_to_hour":6.0,"cold_f":55.0,"hot_f":90.0,"pipes_f":40.0,"figure_source":"nameplate"}',68.0,76.0);
COMMIT;
