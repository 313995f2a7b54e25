/* A job and library of a few rows, with round figures, so that a test can work out every voltage
 * by hand: a battery and an alternator on one stud, a contactor that a switch holds, one bus with
 * a breaker, one box of each law. Every wire is AWG 20 at 100 ohm/km and 1,000 mm long: 100 mohm;
 * contacts have none. */
#ifndef SUPPORT_MINI_H
#define SUPPORT_MINI_H

#include "base/file.h"
#include "support/powered.h"

typedef struct MiniJob {
    const char *nominal_v;
    const char *return_style;
    const char *bonds; /* rows of bond below its header */
} MiniJob;

static inline void mini_library(Job *job) {
    job_add(job, TABLE_wire,
            "part,awg,od_mm,r20_ohm_per_km,hand_ohm_per_km,mass_kg_per_km,rated_degc,use,source,"
            "status\n"
            "W20,20,1.5,100,,7,150,usual,test,shop\n");
    job_add(job, TABLE_contact,
            "contact,kind,smallest_awg,largest_awg,r_mohm,source,status\n"
            "stud,ring,26,2,0,test,shop\n");
    job_add(job, TABLE_shell,
            "shell,name,ways,contact,sealed,source,status\n"
            "S9,nine,9,stud,no,test,shop\n");
    job_add(job, TABLE_interface,
            "class,meaning,cores,smallest_awg,largest_awg,join,kind,source,status\n"
            "B,motor pair,2,20,2,point to point,power,test,shop\n"
            "D,discrete,1,20,2,point to point,signal,test,shop\n"
            "G,return,1,20,2,chain,return,test,shop\n"
            "P,power,1,20,2,chain,power,test,shop\n");
    job_add(job, TABLE_interface_core, "class,core,name\nB,1,a\nB,2,b\nD,1,a\nG,1,a\nP,1,a\n");
    job_add(job, TABLE_part,
            "part,name,supply,case_ground,source,status\n"
            "alt,alternator,source,yes,test,shop\n"
            "bat,battery,source,no,test,shop\n"
            "box,box,powered,no,test,shop\n"
            "cased,box on its case,powered,yes,test,shop\n"
            "giver,box that feeds another,powered,no,test,shop\n"
            "motor,motor,switched motor,no,test,shop\n");
    job_add(job, TABLE_part_connector,
            "part,connector,shell\nalt,J1,S9\nbat,J1,S9\nbox,J1,S9\n"
            "cased,J1,S9\ngiver,J1,S9\nmotor,J1,S9\n");
    job_add(job, TABLE_port,
            "part,port,class,direction\n"
            "alt,FLD,P,in\nalt,OUT,P,out\n"
            "bat,NEG,G,ret\nbat,POS,P,out\n"
            "box,GND,G,ret\nbox,PWR,P,in\n"
            "cased,PWR,P,in\n"
            "giver,GND,G,ret\ngiver,OUT,P,out\ngiver,PWR,P,in\n"
            "motor,MOT,B,in\n");
    job_add(job, TABLE_port_pin,
            "part,port,core,connector,cavity\n"
            "alt,FLD,1,J1,1\nalt,OUT,1,J1,2\n"
            "bat,NEG,1,J1,1\nbat,POS,1,J1,2\n"
            "box,GND,1,J1,1\nbox,PWR,1,J1,2\n"
            "cased,PWR,1,J1,1\n"
            "giver,GND,1,J1,1\ngiver,OUT,1,J1,2\ngiver,PWR,1,J1,3\n"
            "motor,MOT,1,J1,1\nmotor,MOT,2,J1,2\n");
    job_add(job, TABLE_inside, "part,from_port,to_port,kind,ohm\ngiver,PWR,OUT,resistor,0.05\n");
    job_add(job, TABLE_load,
            "part,port,return_port,duty,usual_a,design_a,law,volts_min_v,source,status\n"
            "alt,FLD,case,continuous,1,1,constant resistance,5,test,shop\n"
            "box,PWR,GND,continuous,2,2,constant resistance,9,test,shop\n"
            "cased,PWR,case,continuous,2,2,constant resistance,9,test,shop\n"
            "giver,PWR,GND,continuous,1,1,constant current,9,test,shop\n"
            "motor,MOT,MOT,intermittent,2,2,constant resistance,5,test,shop\n");
    job_add(job, TABLE_device,
            "part,kind,in_terminal,out_terminal,family,source,status\n"
            "cb,breaker,B,L,breaker,test,shop\n");
    job_add(job, TABLE_device_rating,
            "part,rating_a,r_mohm,source,status\n"
            "cb,5,50,test,shop\ncb,10,20,test,shop\n");
    job_add(job, TABLE_switch_part,
            "part,kind,in_terminal,out_terminal,rated_a,coil_a,pick_up_v,drop_out_v,forward_v,"
            "r_mohm,source,status\n"
            "con,contactor,I,O,50,0.5,8,3,,10,test,shop\n"
            "dio,diode,A,K,20,,,,0.4,10,test,shop\n"
            "rev,switch,F,M,20,,,,,30,test,shop\n"
            "tog,switch,1,2,20,,,,,10,test,shop\n");
    job_add(job, TABLE_switch_pole,
            "part,from_terminal,to_terminal,closed_in\n"
            "con,I,O,closed\n"
            "rev,F,M,up\nrev,F,M/2,down\nrev,N,M,down\nrev,N,M/2,up\n"
            "tog,1,2,on\n");
    job_add(job, TABLE_stud,
            "part,terminal,cores,contact\nbar,*,1,stud\nblock,*,1,stud\n"
            "cb,*,1,stud\ncon,*,1,stud\ndio,*,1,stud\nrev,*,1,stud\n"
            "rev,M,2,stud\ntog,*,1,stud\n");
    job_add(job, TABLE_battery,
            "part,capacity_ah,r_mohm,open_circuit_v,usable_new_pct,usable_aged_pct,source,status\n"
            "bat,10,20,12,80,60,test,shop\n");
    job_add(job, TABLE_alternator,
            "part,rated_a,regulated_v,slope_mohm,load_limit_pct,source,status\n"
            "alt,20,14,10,80,test,shop\n");
    job_add(job, TABLE_alternator_output,
            "part,engine,output_a,source,status\n"
            "alt,cruise,20,test,shop\nalt,taxi,3,test,shop\n");
    job_add(job, TABLE_drop_limit,
            "nominal_v,continuous_v,intermittent_v,source,status\n"
            "14,0.5,1,test,shop\n28,1,2,test,shop\n");
    char *text = NULL;
    size_t length = 0;
    Status status = file_read(&job->arena, MARLING_SOURCE_DIR "/library/limit.csv", &text, &length);
    assert_false(status.failed);
    job_add(job, TABLE_limit, text);
}

/* BAT on stud B; contactor MC, held by switch SW, from B to bus; breaker CB and box BOX on the bus;
 * alternator ALT on the bus, its field through CF; grounds at GB. Phases: cruise and, on the
 * battery alone, ground. */
static inline void mini_read(Job *job, MiniJob mini) {
    job_start(job);
    mini_library(job);
    job_add(job, TABLE_job,
            arena_format(&job->arena, "job,title,nominal_v,return_style\nmini,test,%s,%s\n",
                         mini.nominal_v, mini.return_style));
    job_add(job, TABLE_zone,
            "zone,name,ambient_max_degc,ambient_min_degc,altitude_max_m,moisture\n"
            "Z,cabin,20,0,3000,dry\n");
    job_add(job, TABLE_module, "module,name\nM,all\n");
    job_add(job, TABLE_node, "node,x_mm,y_mm,z_mm,zone,module\nN1,0,0,0,Z,M\nN2,1000,0,0,Z,M\n");
    job_add(job, TABLE_segment, "segment,node_a,node_b,zone\nS1,N1,N2,Z\n");
    job_add(job, TABLE_unit,
            "tag,part,node,stub_mm,module\nALT,alt,N1,0,M\nBAT,bat,N1,0,M\n"
            "BOX,box,N1,0,M\n");
    job_add(job, TABLE_ground_point, "point,node,stub_mm,tabs,kind\nGB,N2,0,9,block\n");
    job_add(job, TABLE_bond, arena_format(&job->arena, "item,onto,mohm\n%s", mini.bonds));
    job_add(job, TABLE_source, "unit,plus,minus,field\nALT,OUT,,FLD\nBAT,POS,NEG,\n");
    job_add(job, TABLE_bus, "bus,stud,node,stub_mm\nBATT,BS.T,N2,0\nMAIN,BB.T,N2,0\n");
    job_add(job, TABLE_protection,
            "tag,part,rating_a,node,stub_mm,bolted_on\n"
            "CB,cb,5,N2,0,MAIN\nCF,cb,5,N2,0,MAIN\n");
    job_add(job, TABLE_switchgear,
            "tag,part,node,stub_mm,rest,bolted_on,bolts_to,coil_plus_on\n"
            "MC,con,N2,0,open,BATT,MAIN,BATT\nSW,tog,N1,0,off,,,\n");
    job_add(job, TABLE_feed,
            "feed,onto,out_of,through\n"
            "ALT_OUT,MAIN,ALT.OUT,\nBAT_POS,BATT,BAT.POS,\n"
            "BOX_PWR,BOX.PWR,MAIN,CB\nFLD,ALT.FLD,MAIN,CF\n"
            "MASTER,MAIN,BATT,MC\n");
    job_add(job, TABLE_ground,
            "ground,out_of,onto\nBAT_NEG,BAT.NEG,GB.t1\nBOX_GND,BOX.GND,GB.t2\n"
            "SW_GND,SW.2,GB.t3\n");
    job_add(job, TABLE_link, "link,ends,class\nMC_COIL,MC.C- SW.1,D\n");
    job_add(job, TABLE_phase,
            "phase,rank,name,engine,carried_by\ncruise,2,cruise,cruise,ALT\n"
            "ground,1,on the battery,off,\n");
    job_add(job, TABLE_setting,
            "phase,item,position\ncruise,SW,on\nground,ALT,off\nground,SW,on\n");
    job_add(job, TABLE_mode,
            "phase,port,amps_a\ncruise,ALT.FLD,\ncruise,BOX.PWR,\nground,BOX.PWR,\n");
    job_check(job);
    job_plain_lengths(job);
}

/* AWG 20 everywhere. */
static inline const int32_t *mini_awg(Powered *powered) {
    int32_t *awg = ARENA_ARRAY(&powered->job.arena, int32_t, powered->wiring.conductor_count);
    for (uint32_t i = 0; i < powered->wiring.conductor_count; i++) {
        awg[i] = 20;
    }
    return awg;
}

static inline void mini_solve(Powered *powered) {
    powered_load(powered);
    powered->awg = mini_awg(powered);
    powered_solve(powered);
}

#define MINI_BONDS "ALT,structure,0\nGB,structure,0\n"

#endif
