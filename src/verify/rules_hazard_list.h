/*
 * rules_hazard_list.h - words of a step that tell of a hazard, and the activity they want.
 *
 * One line: the verb; what it is done to (one of these words within a few behind it; a_b two words
 * in a row; ~ directly behind it; nothing: the verb alone is enough); words that say it is
 * something else; the activities of procedures/safety.yaml of which the step must have one.  A verb
 * is marked IS_HAZARD in rules_word_list.h too (a test compares).  The proof rests on
 * activities and not on words: where a step does what it does not say, nothing protects.
 * Activities that the library in use does not have are passed over.
 * No include guard: the file is included once for each table made from it.
 */
/* clang-format off */
/* it turns, or runs */
HAZARD("crank", "", "window handle jack", "crank_engine")
HAZARD("spin", "engine starter", "", "crank_engine turn_by_hand")
HAZARD("start", "engine motor generator vehicle car motorcycle", "", "run_engine")
HAZARD("run", "engine motor generator", "", "run_engine")
HAZARD("warm", "engine motor", "", "run_engine")
HAZARD("idle", "engine motor", "", "run_engine")
HAZARD("rev", "engine motor", "", "run_engine")
HAZARD("turn", "engine crankshaft", "off", "turn_by_hand turn_out_liquid crank_engine")
HAZARD("turn", "blade", "", "turn_blade turn_by_hand")
HAZARD("rotate", "engine crankshaft", "", "turn_by_hand turn_out_liquid crank_engine")
/* weight above a person, or moved */
HAZARD("get", "~under beneath underneath", "", "work_underneath")
HAZARD("crawl", "~under beneath underneath", "", "work_underneath")
HAZARD("lie", "~under beneath underneath", "", "work_underneath")
HAZARD("go", "~under beneath underneath", "", "work_underneath")
HAZARD("slide", "~under beneath underneath", "", "work_underneath")
HAZARD("climb", "~under beneath underneath", "", "work_underneath")
HAZARD("roll", "~under beneath underneath", "", "work_underneath")
HAZARD("jack", "up vehicle car van truck motorcycle machine axle end", "", "lifting")
HAZARD("lift", "vehicle car van truck motorcycle machine axle end", "", "lifting")
HAZARD("raise", "vehicle car van truck motorcycle machine axle end", "", "lifting")
HAZARD("hoist", "vehicle car van truck motorcycle machine axle end engine", "", "lifting")
HAZARD("lower", "vehicle car van truck motorcycle machine axle", "", "lowering lifting")
HAZARD("drive", "vehicle car van truck motorcycle", "", "move_vehicle")
HAZARD("move", "vehicle car van truck motorcycle", "", "move_vehicle")
HAZARD("roll", "vehicle car van truck motorcycle", "", "move_vehicle")
/* hot, or burns */
HAZARD("drain", "oil sump", "jug can pan bottle", "drain_hot_oil")
HAZARD("drain", "coolant radiator", "", "open_coolant")
HAZARD("open", "radiator radiator_cap coolant_cap pressure_cap", "grille", "open_coolant")
HAZARD("remove", "radiator_cap coolant_cap pressure_cap coolant_hose", "", "open_coolant")
HAZARD("unscrew", "radiator_cap coolant_cap pressure_cap", "", "open_coolant")
HAZARD("take", "radiator_cap coolant_cap pressure_cap", "", "open_coolant")
HAZARD("drain", "fuel tank", "", "open_fuel")
HAZARD("siphon", "fuel petrol diesel tank", "", "open_fuel")
HAZARD("open", "fuel_line fuel_hose fuel_pipe fuel_rail fuel_filter fuel_tank fuel_system fuel_union", "", "open_fuel")
HAZARD("loosen", "fuel_line fuel_hose fuel_pipe fuel_rail fuel_filter fuel_union", "", "open_fuel")
HAZARD("undo", "fuel_line fuel_hose fuel_pipe fuel_rail fuel_filter fuel_union", "", "open_fuel")
HAZARD("crack", "fuel_line fuel_pipe fuel_union injector", "", "open_fuel")
HAZARD("split", "fuel_line fuel_pipe fuel_union", "", "open_fuel")
HAZARD("disconnect", "fuel_line fuel_hose fuel_pipe fuel_rail fuel_filter", "", "open_fuel")
HAZARD("remove", "fuel_line fuel_hose fuel_pipe fuel_rail fuel_filter fuel_tank injector", "", "open_fuel")
HAZARD("take", "fuel_line fuel_hose fuel_pipe fuel_rail fuel_filter fuel_tank", "", "open_fuel")
HAZARD("spray", "solvent cleaner", "", "use_solvent")
/* under pressure */
HAZARD("pressurise", "", "", "leakdown_pressure pressurise_cylinder compressed_air")
HAZARD("pressurize", "", "", "leakdown_pressure pressurise_cylinder compressed_air")
HAZARD("inflate", "tyre tire", "", "inflate_tyre compressed_air")
HAZARD("blow", "dirt dust grit out through", "mouth", "compressed_air")
/* electricity */
HAZARD("disconnect", "battery earth_lead battery_lead earth_strap", "charger", "disconnect_battery")
HAZARD("unclamp", "battery earth_lead battery_lead earth_strap", "", "disconnect_battery")
HAZARD("take", "earth_lead battery_lead", "", "disconnect_battery")
HAZARD("remove", "battery earth_lead battery_lead", "", "disconnect_battery")
HAZARD("connect", "battery earth_lead battery_lead earth_strap", "charger", "connect_battery disconnect_battery")
HAZARD("charge", "battery", "", "charge_battery")
/* clang-format on */
