-- Schema 1. Once released it is frozen: a change is a new migration, not an edit.

CREATE TABLE "setting" (
    "name" TEXT NOT NULL PRIMARY KEY,
    "value" TEXT NOT NULL
);

CREATE TABLE "migration" (
    "version" INTEGER NOT NULL PRIMARY KEY,
    "name" TEXT NOT NULL,
    "applied_at" TEXT NOT NULL
);

CREATE TABLE "cases" (
    "id" INTEGER NOT NULL PRIMARY KEY,
    "code" TEXT NOT NULL,
    "person" TEXT NOT NULL,
    "side" TEXT NOT NULL,
    "pathway" TEXT NOT NULL,
    "clinician" TEXT NOT NULL,
    "referrer" TEXT NOT NULL,
    "registered_on" TEXT NOT NULL,
    "dominance" TEXT,
    "age_band" TEXT,
    UNIQUE ("code"),
    CHECK (length("code") BETWEEN 1 AND 24),
    CHECK (length("person") BETWEEN 1 AND 24),
    CHECK ("side" IN ('LEFT', 'RIGHT')),
    CHECK (length("pathway") BETWEEN 1 AND 8),
    CHECK ("dominance" IN ('left', 'right', 'both')),
    CHECK ("age_band" IN (
        'under 16',
        '16-17',
        '18-19',
        '20s',
        '30s',
        '40s',
        '50s',
        '60s',
        '70s',
        '80s',
        '90 or over'
    )),
    CHECK ("registered_on" LIKE '____-__-__')
);

CREATE INDEX "cases_of_person" ON "cases" ("person");

-- One line for every entry of any kind: the one increasing sequence of ids.

-- Entries of one batch were written together; batch 0 was taken from a file.

CREATE TABLE "entry" (
    "id" INTEGER NOT NULL PRIMARY KEY,
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "kind" TEXT NOT NULL,
    "batch" INTEGER NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    CHECK ("kind" IN (
        'visit',
        'session',
        'morning',
        'measure',
        'score',
        'screen',
        'flag outcome',
        'event',
        'contact',
        'appointment',
        'attendance',
        'programme item',
        'step',
        'override',
        'hold',
        'in hand',
        'orders',
        'clearance',
        'referral',
        'decision',
        'letter',
        'discharge',
        'reopening',
        'onset',
        'finding',
        'medicine',
        'target',
        'correction'
    )),
    CHECK ("batch" BETWEEN 0 AND "id")
);

CREATE INDEX "entry_of_case" ON "entry" ("case_id", "id");

CREATE INDEX "entry_recorded" ON "entry" ("recorded_at_utc");

CREATE TABLE "visit" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "mode" TEXT NOT NULL,
    "interval" INTEGER,
    "injury_assessed" BOOLEAN NOT NULL,
    "decision" BOOLEAN NOT NULL,
    "load_cut" BOOLEAN NOT NULL,
    "plan_corrected" BOOLEAN NOT NULL,
    "answers" TEXT,
    "usual_morning" INTEGER,
    "note" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("mode" IN ('in person', 'video')),
    CHECK ("interval" BETWEEN 1 AND 366),
    CHECK ("injury_assessed" IN (0, 1)),
    CHECK ("decision" IN (0, 1)),
    CHECK ("load_cut" IN (0, 1)),
    CHECK ("plan_corrected" IN (0, 1)),
    CHECK ("answers" IN (
        'plateau',
        'image cuff',
        'nerve',
        'bony',
        'losing range',
        'post-operative stiffness',
        'worse, or not responding',
        'possible red flag',
        'surgical opinion',
        'stalled',
        'review not needed',
        'other'
    )),
    CHECK ("usual_morning" BETWEEN 0 AND 10),
    CHECK (length("note") BETWEEN 1 AND 200)
);

CREATE INDEX "visit_of_case" ON "visit" ("case_id", "happened_on", "id");

CREATE TABLE "session" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "ordinal" INTEGER NOT NULL,
    "during" INTEGER,
    "during_absence" TEXT,
    "later" INTEGER,
    "later_absence" TEXT,
    "morning" INTEGER,
    "morning_absence" TEXT,
    "sling_off" BOOLEAN NOT NULL,
    "note" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("ordinal" BETWEEN 1 AND 2),
    CHECK ("during" BETWEEN 0 AND 10),
    CHECK ("during_absence" IN ('not measured', 'not asked', 'declined', 'prohibited')),
    CHECK (("during" IS NULL) <> ("during_absence" IS NULL)),
    CHECK ("later" BETWEEN 0 AND 10),
    CHECK ("later_absence" IN ('not measured', 'not asked', 'declined', 'prohibited')),
    CHECK (("later" IS NULL) <> ("later_absence" IS NULL)),
    CHECK ("morning" BETWEEN 0 AND 10),
    CHECK ("morning_absence" IN ('not measured', 'not asked', 'declined', 'prohibited')),
    CHECK (("morning" IS NULL) <> ("morning_absence" IS NULL)),
    CHECK ("sling_off" IN (0, 1)),
    CHECK (length("note") BETWEEN 1 AND 200)
);

CREATE INDEX "session_of_case" ON "session" ("case_id", "happened_on", "id");

CREATE TABLE "morning" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "pain" INTEGER,
    "pain_absence" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("pain" BETWEEN 0 AND 10),
    CHECK ("pain_absence" IN ('not measured', 'not asked', 'declined', 'prohibited')),
    CHECK (("pain" IS NULL) <> ("pain_absence" IS NULL))
);

CREATE INDEX "morning_of_case" ON "morning" ("case_id", "happened_on", "id");

CREATE TABLE "measure" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "name" TEXT NOT NULL,
    "value" INTEGER,
    "value_decimals" INTEGER,
    "value_absence" TEXT,
    "unit" TEXT,
    "side" TEXT,
    "rater" TEXT,
    "method" TEXT,
    "position" TEXT,
    "limited_by" TEXT,
    "repeated" BOOLEAN NOT NULL,
    "confirmed" BOOLEAN NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("name" IN (
        'worst_pain',
        'rest_pain',
        'night_pain',
        'night_waking',
        'active_flexion',
        'active_abduction',
        'active_external_rotation',
        'passive_flexion',
        'passive_external_rotation',
        'passive_abduction',
        'passive_internal_rotation',
        'hand_behind_back',
        'external_rotation_strength',
        'internal_rotation_strength',
        'abduction_strength',
        'flexion_strength',
        'adherence',
        'worry_about_movement'
    )),
    CHECK ("value_decimals" BETWEEN 0 AND 2),
    CHECK (("value" IS NULL) = ("value_decimals" IS NULL)),
    CHECK ("value" BETWEEN -20 * CASE "value_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END AND 200 * CASE "value_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END),
    CHECK ("value_absence" IN ('not measured', 'not asked', 'declined', 'prohibited')),
    CHECK (("value" IS NULL) <> ("value_absence" IS NULL)),
    CHECK ("unit" IN ('percent of other side', 'kg', 'grade 0-5')),
    CHECK ("side" IN ('LEFT', 'RIGHT')),
    CHECK (length("rater") BETWEEN 1 AND 12),
    CHECK (length("method") BETWEEN 1 AND 40),
    CHECK (length("position") BETWEEN 1 AND 40),
    CHECK ("limited_by" IN ('pain', 'guarding', 'other')),
    CHECK ("repeated" IN (0, 1)),
    CHECK ("confirmed" IN (0, 1))
);

CREATE INDEX "measure_of_case" ON "measure" ("case_id", "happened_on", "id");

CREATE TABLE "score" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "instrument" TEXT NOT NULL,
    "total" INTEGER,
    "total_decimals" INTEGER,
    "total_absence" TEXT,
    "formula" TEXT,
    "version" TEXT,
    "language" TEXT,
    "filled_by" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("instrument" IN (
        'SPADI',
        'QuickDASH',
        'DASH',
        'OSS',
        'OSIS',
        'WOOS',
        'PSFS',
        'ASES',
        'Constant-Murley',
        'SANE',
        'WOSI',
        'WORC',
        'GROC',
        'NRS'
    )),
    CHECK ("total_decimals" BETWEEN 0 AND 2),
    CHECK (("total" IS NULL) = ("total_decimals" IS NULL)),
    CHECK ("total" BETWEEN -10 * CASE "total_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END AND 2100 * CASE "total_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END),
    CHECK ("total_absence" IN ('not measured', 'not asked', 'declined', 'prohibited')),
    CHECK ("total" IS NULL OR "total_absence" IS NULL),
    CHECK ("formula" IN ('mean of subscales', 'all items', 'new 0-48', 'old 12-60')),
    CHECK (length("version") BETWEEN 1 AND 40),
    CHECK (length("language") BETWEEN 1 AND 20),
    CHECK ("filled_by" IN ('patient', 'carer', 'interview'))
);

CREATE INDEX "score_of_case" ON "score" ("case_id", "happened_on", "id");

CREATE TABLE "screen" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "item" TEXT NOT NULL,
    "answer" TEXT NOT NULL,
    "severity" INTEGER,
    "note" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("item" IN (
        'all',
        'hot or swollen joint, or unwell',
        'unreduced dislocation or deformity',
        'motor or sensory loss',
        'mass, cancer history, weight loss or unrelenting night pain',
        'trauma and cannot lift to 90 degrees',
        'girdle pain with morning stiffness, headache, visual or jaw symptoms',
        'chest, arm or jaw pain on exertion, breathless, or abdominal signs',
        'calf or arm swelling after surgery or immobilisation',
        'wound discharge or fever after surgery',
        'neck movement reproduces arm pain with neurological signs'
    )),
    CHECK ("answer" IN ('yes', 'no', 'not asked', 'declined')),
    CHECK ("severity" BETWEEN 1 AND 3),
    CHECK (length("note") BETWEEN 1 AND 200)
);

CREATE INDEX "screen_of_case" ON "screen" ("case_id", "happened_on", "id");

CREATE TABLE "flag_outcome" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "item" TEXT NOT NULL,
    "outcome" TEXT NOT NULL,
    "reason" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("item" IN (
        'all',
        'hot or swollen joint, or unwell',
        'unreduced dislocation or deformity',
        'motor or sensory loss',
        'mass, cancer history, weight loss or unrelenting night pain',
        'trauma and cannot lift to 90 degrees',
        'girdle pain with morning stiffness, headache, visual or jaw symptoms',
        'chest, arm or jaw pain on exertion, breathless, or abdominal signs',
        'calf or arm swelling after surgery or immobilisation',
        'wound discharge or fever after surgery',
        'neck movement reproduces arm pain with neurological signs'
    )),
    CHECK ("outcome" IN ('cleared', 'referred and answered')),
    CHECK (length("reason") BETWEEN 3 AND 200)
);

CREATE INDEX "flag_outcome_of_case" ON "flag_outcome" ("case_id", "happened_on", "id");

CREATE TABLE "event" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "event" TEXT NOT NULL,
    "combined" BOOLEAN NOT NULL,
    "note" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("event" IN (
        'fall',
        'dislocation',
        'slipped out of joint',
        'sudden loss of active lift',
        'pop',
        'new bulge of the upper arm',
        'sudden weakness',
        'other injury'
    )),
    CHECK ("combined" IN (0, 1)),
    CHECK (length("note") BETWEEN 1 AND 200)
);

CREATE INDEX "event_of_case" ON "event" ("case_id", "happened_on", "id");

CREATE TABLE "contact" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "outcome" TEXT NOT NULL,
    "load_cut" BOOLEAN NOT NULL,
    "plan_corrected" BOOLEAN NOT NULL,
    "surgeon_told" BOOLEAN NOT NULL,
    "note" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("outcome" IN (
        'spoke',
        'message answered',
        'no answer',
        'wrong number',
        'message left',
        'message received'
    )),
    CHECK ("load_cut" IN (0, 1)),
    CHECK ("plan_corrected" IN (0, 1)),
    CHECK ("surgeon_told" IN (0, 1)),
    CHECK (length("note") BETWEEN 1 AND 200)
);

CREATE INDEX "contact_of_case" ON "contact" ("case_id", "happened_on", "id");

CREATE TABLE "appointment" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "booked_for" TEXT NOT NULL,
    "reason" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("booked_for" LIKE '____-__-__'),
    CHECK (length("reason") BETWEEN 1 AND 200)
);

CREATE INDEX "appointment_of_case" ON "appointment" ("case_id", "happened_on", "id");

CREATE TABLE "attendance" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "booked_for" TEXT NOT NULL,
    "outcome" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("booked_for" LIKE '____-__-__'),
    CHECK ("outcome" IN (
        'attended',
        'did not attend',
        'was not brought',
        'cancelled by patient',
        'cancelled by clinic'
    ))
);

CREATE INDEX "attendance_of_case" ON "attendance" ("case_id", "happened_on", "id");

CREATE TABLE "programme_item" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "exercise" TEXT NOT NULL,
    "load_class" TEXT NOT NULL,
    "sets" INTEGER NOT NULL,
    "reps" INTEGER NOT NULL,
    "reps_low" INTEGER,
    "reps_high" INTEGER,
    "hold" INTEGER,
    "tempo" TEXT,
    "load" INTEGER,
    "load_decimals" INTEGER,
    "band" INTEGER,
    "per_week" INTEGER,
    "effort" INTEGER,
    "above_shoulder" BOOLEAN NOT NULL,
    "combined" BOOLEAN NOT NULL,
    "stopped" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK (length("exercise") BETWEEN 1 AND 60),
    CHECK ("load_class" IN (
        'P0',
        'P1',
        'A1',
        'A2',
        'I1',
        'I2',
        'R1',
        'R2',
        'R3',
        'S1',
        'S2',
        'W1',
        'W2',
        'X1'
    )),
    CHECK ("sets" BETWEEN 1 AND 20),
    CHECK ("reps" BETWEEN 1 AND 200),
    CHECK ("reps_low" BETWEEN 1 AND 200),
    CHECK ("reps_high" BETWEEN 1 AND 200),
    CHECK ("hold" BETWEEN 1 AND 300),
    CHECK (length("tempo") BETWEEN 1 AND 12),
    CHECK ("load_decimals" BETWEEN 0 AND 2),
    CHECK (("load" IS NULL) = ("load_decimals" IS NULL)),
    CHECK ("load" BETWEEN 0 * CASE "load_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END AND 200 * CASE "load_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END),
    CHECK ("band" BETWEEN 1 AND 6),
    CHECK ("per_week" BETWEEN 1 AND 70),
    CHECK ("effort" BETWEEN 0 AND 10),
    CHECK ("above_shoulder" IN (0, 1)),
    CHECK ("combined" IN (0, 1)),
    CHECK (length("stopped") BETWEEN 1 AND 200)
);

CREATE INDEX "programme_item_of_case" ON "programme_item" ("case_id", "happened_on", "id");

CREATE TABLE "step" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "stage" TEXT NOT NULL,
    "direction" TEXT NOT NULL,
    "override_category" TEXT,
    "override_reason" TEXT,
    "verdict" TEXT,
    "rules" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK (length("stage") BETWEEN 3 AND 4),
    CHECK ("direction" IN ('placing', 'forward', 'back')),
    CHECK ("override_category" IN (
        'patient goal',
        'clinical judgement',
        'surgeon''s instruction',
        'measure unreliable',
        'other'
    )),
    CHECK (length("override_reason") BETWEEN 10 AND 200),
    CHECK (length("verdict") BETWEEN 1 AND 40),
    CHECK (length("rules") BETWEEN 1 AND 60)
);

CREATE INDEX "step_of_case" ON "step" ("case_id", "happened_on", "id");

CREATE TABLE "override" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "against" TEXT NOT NULL,
    "category" TEXT NOT NULL,
    "reason" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK (length("against") BETWEEN 1 AND 60),
    CHECK ("category" IN (
        'patient goal',
        'clinical judgement',
        'surgeon''s instruction',
        'measure unreliable',
        'other'
    )),
    CHECK (length("reason") BETWEEN 10 AND 200)
);

CREATE INDEX "override_of_case" ON "override" ("case_id", "happened_on", "id");

CREATE TABLE "hold" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "until" TEXT NOT NULL,
    "reason" TEXT NOT NULL,
    "note" TEXT,
    "named" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("until" LIKE '____-__-__'),
    CHECK ("reason" IN (
        'holiday',
        'illness',
        'awaiting imaging',
        'awaiting surgeon',
        'injection',
        'bereavement',
        'patient''s request',
        'other'
    )),
    CHECK (length("note") BETWEEN 1 AND 200),
    CHECK (length("named") BETWEEN 1 AND 60)
);

CREATE INDEX "hold_of_case" ON "hold" ("case_id", "happened_on", "id");

CREATE TABLE "in_hand" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "reason" TEXT NOT NULL,
    "action" TEXT NOT NULL,
    "until" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK (length("reason") BETWEEN 1 AND 60),
    CHECK (length("action") BETWEEN 1 AND 200),
    CHECK ("until" LIKE '____-__-__')
);

CREATE INDEX "in_hand_of_case" ON "in_hand" ("case_id", "happened_on", "id");

CREATE TABLE "orders" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "surgeon" TEXT,
    "operation" TEXT,
    "tear_size" TEXT,
    "poor_tissue" BOOLEAN NOT NULL,
    "tendons" TEXT,
    "sling_until" TEXT,
    "external_rotation_limit" INTEGER,
    "elevation_limit" INTEGER,
    "no_active_until" TEXT,
    "no_resisted_until" TEXT,
    "lifting_limit" INTEGER,
    "lifting_limit_decimals" INTEGER,
    "stage2_from" TEXT,
    "stage3_from" TEXT,
    "stage4_from" TEXT,
    "stage5_from" TEXT,
    "text" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK (length("surgeon") BETWEEN 1 AND 60),
    CHECK (length("operation") BETWEEN 1 AND 80),
    CHECK ("tear_size" IN ('small', 'medium', 'large', 'massive')),
    CHECK ("poor_tissue" IN (0, 1)),
    CHECK (length("tendons") BETWEEN 1 AND 80),
    CHECK ("sling_until" LIKE '____-__-__'),
    CHECK ("external_rotation_limit" BETWEEN -20 AND 110),
    CHECK ("elevation_limit" BETWEEN 0 AND 180),
    CHECK ("no_active_until" LIKE '____-__-__'),
    CHECK ("no_resisted_until" LIKE '____-__-__'),
    CHECK ("lifting_limit_decimals" BETWEEN 0 AND 2),
    CHECK (("lifting_limit" IS NULL) = ("lifting_limit_decimals" IS NULL)),
    CHECK ("lifting_limit" BETWEEN 0 * CASE "lifting_limit_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END AND 100 * CASE "lifting_limit_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END),
    CHECK ("stage2_from" LIKE '____-__-__'),
    CHECK ("stage3_from" LIKE '____-__-__'),
    CHECK ("stage4_from" LIKE '____-__-__'),
    CHECK ("stage5_from" LIKE '____-__-__'),
    CHECK (length("text") BETWEEN 1 AND 400)
);

CREATE INDEX "orders_of_case" ON "orders" ("case_id", "happened_on", "id");

CREATE TABLE "clearance" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "by" TEXT NOT NULL,
    "scope" TEXT NOT NULL,
    "answer" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("by" IN ('surgeon', 'union', 'stability')),
    CHECK ("scope" IN ('movement', 'resisted')),
    CHECK ("answer" IN ('yes', 'no', 'not known', 'withdrawn'))
);

CREATE INDEX "clearance_of_case" ON "clearance" ("case_id", "happened_on", "id");

CREATE TABLE "referral" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "to" TEXT NOT NULL,
    "urgency" TEXT NOT NULL,
    "about" TEXT NOT NULL,
    "surgeon_told" BOOLEAN NOT NULL,
    "note" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK (length("to") BETWEEN 1 AND 60),
    CHECK ("urgency" IN ('same day', 'urgent', 'soon', 'routine')),
    CHECK ("about" IN (
        'plateau',
        'image cuff',
        'nerve',
        'bony',
        'losing range',
        'post-operative stiffness',
        'worse, or not responding',
        'possible red flag',
        'surgical opinion',
        'stalled',
        'review not needed',
        'other'
    )),
    CHECK ("surgeon_told" IN (0, 1)),
    CHECK (length("note") BETWEEN 1 AND 200)
);

CREATE INDEX "referral_of_case" ON "referral" ("case_id", "happened_on", "id");

CREATE TABLE "decision" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "about" TEXT NOT NULL,
    "note" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("about" IN (
        'plateau',
        'image cuff',
        'nerve',
        'bony',
        'losing range',
        'post-operative stiffness',
        'worse, or not responding',
        'possible red flag',
        'surgical opinion',
        'stalled',
        'review not needed',
        'other'
    )),
    CHECK (length("note") BETWEEN 3 AND 200)
);

CREATE INDEX "decision_of_case" ON "decision" ("case_id", "happened_on", "id");

CREATE TABLE "letter" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "about" TEXT NOT NULL,
    "state" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("about" IN ('discharge', 'referral', 'progress', 'missed visits')),
    CHECK ("state" IN ('sent', 'draft'))
);

CREATE INDEX "letter_of_case" ON "letter" ("case_id", "happened_on", "id");

CREATE TABLE "discharge" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "outcome" TEXT NOT NULL,
    "measures" TEXT NOT NULL,
    "letter" BOOLEAN NOT NULL,
    "note" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("outcome" IN (
        'goal met',
        'self-managing',
        'referred on',
        'did not attend',
        'patient choice',
        'died',
        'moved'
    )),
    CHECK ("measures" IN ('recorded', 'not obtained')),
    CHECK ("letter" IN (0, 1)),
    CHECK (length("note") BETWEEN 1 AND 200)
);

CREATE INDEX "discharge_of_case" ON "discharge" ("case_id", "happened_on", "id");

CREATE TABLE "reopening" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "new_mechanism" BOOLEAN NOT NULL,
    "reason" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("new_mechanism" IN (0, 1)),
    CHECK (length("reason") BETWEEN 1 AND 200)
);

CREATE INDEX "reopening_of_case" ON "reopening" ("case_id", "happened_on", "id");

CREATE TABLE "onset" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "what" TEXT NOT NULL,
    "operation" TEXT,
    "low_energy" BOOLEAN NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("what" IN ('surgery', 'dislocation', 'fracture', 'other injury', 'gradual')),
    CHECK (length("operation") BETWEEN 1 AND 80),
    CHECK ("low_energy" IN (0, 1))
);

CREATE INDEX "onset_of_case" ON "onset" ("case_id", "happened_on", "id");

CREATE TABLE "finding" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "name" TEXT NOT NULL,
    "answer" TEXT NOT NULL,
    "note" TEXT,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("name" IN (
        'wound dry',
        'sling weaned',
        'sling off',
        'shrug seen',
        'pain mainly at end range',
        'apprehension',
        'apprehension in daily use',
        'apprehension accepted',
        'badge sensation recorded',
        'deltoid contraction recorded',
        'badge sensation lost',
        'deltoid contracts',
        'can lift to 90 degrees',
        'weakness after injury',
        'second dislocation',
        'bony lesion on imaging',
        'goal met',
        'flare plan given',
        'self-care plan given',
        'self-managing',
        'open access set',
        'patient accepts function',
        'moves as one piece',
        'check X-ray seen',
        'bone health question closed',
        'training without apprehension',
        'heavy work',
        'surgeon signed off heavy work',
        'testing prohibited',
        'other side is a reference',
        'other side is equal to expectation',
        'radiograph excludes other cause',
        'surgical opinion offered',
        'contact or overhead sport',
        'contact sport by informed choice',
        'diabetes',
        'thyroid disease',
        'anticoagulant',
        'cancer history',
        'pregnancy',
        'osteoporosis',
        'firm end-feel',
        'large tear or poor tissue',
        'high irritability'
    )),
    CHECK ("answer" IN ('yes', 'no', 'not asked', 'declined')),
    CHECK (length("note") BETWEEN 1 AND 200)
);

CREATE INDEX "finding_of_case" ON "finding" ("case_id", "happened_on", "id");

CREATE TABLE "medicine" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "what" TEXT NOT NULL,
    "change" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("what" IN ('injection', 'analgesic')),
    CHECK ("change" IN ('new', 'stronger', 'unchanged', 'stopped'))
);

CREATE INDEX "medicine_of_case" ON "medicine" ("case_id", "happened_on", "id");

CREATE TABLE "target" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "measure" TEXT NOT NULL,
    "value" INTEGER NOT NULL,
    "value_decimals" INTEGER NOT NULL,
    "reason" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("measure" IN (
        'worst_pain',
        'rest_pain',
        'night_pain',
        'night_waking',
        'active_flexion',
        'active_abduction',
        'active_external_rotation',
        'passive_flexion',
        'passive_external_rotation',
        'passive_abduction',
        'passive_internal_rotation',
        'hand_behind_back',
        'external_rotation_strength',
        'internal_rotation_strength',
        'abduction_strength',
        'flexion_strength',
        'adherence',
        'worry_about_movement'
    )),
    CHECK ("value_decimals" BETWEEN 0 AND 2),
    CHECK (("value" IS NULL) = ("value_decimals" IS NULL)),
    CHECK ("value" BETWEEN -20 * CASE "value_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END AND 200 * CASE "value_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END),
    CHECK (length("reason") BETWEEN 3 AND 200)
);

CREATE INDEX "target_of_case" ON "target" ("case_id", "happened_on", "id");

CREATE TABLE "correction" (
    "id" INTEGER NOT NULL PRIMARY KEY REFERENCES "entry" ("id"),
    "case_id" INTEGER NOT NULL REFERENCES "cases" ("id"),
    "happened_on" TEXT NOT NULL,
    "recorded_at_utc" BIGINT NOT NULL,
    "recorded_offset_minutes" INTEGER NOT NULL,
    "recorded_on" TEXT NOT NULL,
    "author" TEXT NOT NULL,
    "source" TEXT NOT NULL,
    "history" BOOLEAN NOT NULL,
    "corrects" BIGINT NOT NULL REFERENCES "entry" ("id"),
    "replaced_by" BIGINT REFERENCES "entry" ("id"),
    "reason" TEXT NOT NULL,
    CHECK ("happened_on" LIKE '____-__-__'),
    CHECK ("recorded_offset_minutes" BETWEEN -900 AND 900),
    CHECK ("recorded_on" LIKE '____-__-__'),
    CHECK (length("author") <= 60),
    CHECK ("history" IN (0, 1)),
    CHECK ("source" IN (
        'clinician measured',
        'patient reported',
        'referral letter',
        'surgeon',
        'clinic records'
    )),
    CHECK ("corrects" BETWEEN 1 AND 4611686018427387904),
    CHECK ("replaced_by" BETWEEN 1 AND 4611686018427387904),
    CHECK (length("reason") BETWEEN 3 AND 200)
);

CREATE INDEX "correction_of_case" ON "correction" ("case_id", "happened_on", "id");

CREATE INDEX "correction_of_entry" ON "correction" ("corrects");

CREATE TABLE "session_item" (
    "session_id" INTEGER NOT NULL REFERENCES "session" ("id"),
    "place" INTEGER NOT NULL,
    "exercise" TEXT NOT NULL,
    "load_class" TEXT NOT NULL,
    "sets" INTEGER,
    "sets_asked" INTEGER,
    "reps" INTEGER,
    "reps_asked" INTEGER,
    "load" INTEGER,
    "load_decimals" INTEGER,
    "band" INTEGER,
    "above_shoulder" BOOLEAN NOT NULL,
    "combined" BOOLEAN NOT NULL,
    PRIMARY KEY ("session_id", "place"),
    CHECK ("place" BETWEEN 0 AND 99),
    CHECK (length("exercise") BETWEEN 1 AND 60),
    CHECK ("load_class" IN (
        'P0',
        'P1',
        'A1',
        'A2',
        'I1',
        'I2',
        'R1',
        'R2',
        'R3',
        'S1',
        'S2',
        'W1',
        'W2',
        'X1'
    )),
    CHECK ("sets" BETWEEN 0 AND 20),
    CHECK ("sets_asked" BETWEEN 1 AND 20),
    CHECK ("reps" BETWEEN 0 AND 200),
    CHECK ("reps_asked" BETWEEN 1 AND 200),
    CHECK ("load_decimals" BETWEEN 0 AND 2),
    CHECK (("load" IS NULL) = ("load_decimals" IS NULL)),
    CHECK ("load" BETWEEN 0 * CASE "load_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END AND 200 * CASE "load_decimals" WHEN 0 THEN 1 WHEN 1 THEN 10 ELSE 100 END),
    CHECK ("band" BETWEEN 1 AND 6),
    CHECK ("above_shoulder" IN (0, 1)),
    CHECK ("combined" IN (0, 1))
);
