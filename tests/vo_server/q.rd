<resource schema="sidelight">
  <meta name="title">Stars of Tycho-2 round six places</meta>
  <meta name="description">A table of real stars for the tests of a cone search client.</meta>
  <meta name="creationDate">2026-01-01T00:00:00Z</meta>
  <meta name="creator">Høg, E.; et al.</meta>
  <meta name="subject">catalogs</meta>
  <meta name="copyright" format="plain">BSD-2-Clause</meta>

  <table id="stars" onDisk="True" mixin="//scs#q3cindex" primary="ident">
    <column verbLevel="1" name="ident" type="text" ucd="meta.id;meta.main" required="True" description="Number in this table"/>
    <column verbLevel="1" name="ra" type="double precision" unit="deg" ucd="pos.eq.ra;meta.main" description="Right ascension, ICRS"/>
    <column verbLevel="1" name="dec" type="double precision" unit="deg" ucd="pos.eq.dec;meta.main" description="Declination, ICRS"/>
    <column verbLevel="1" name="vmag" type="real" unit="mag" ucd="phot.mag;em.opt.V" description="VT"/>
  </table>

  <data id="import">
    <sources>stars.csv</sources>
    <csvGrammar/>
    <make table="stars">
      <rowmaker idmaps="*"/>
    </make>
  </data>

  <service id="cone" allowed="scs.xml,form">
    <meta name="shortName">sidelight test</meta>
    <meta name="testQuery.ra">10.68</meta>
    <meta name="testQuery.dec">41.27</meta>
    <meta name="testQuery.sr">0.1</meta>
    <scsCore queriedTable="stars">
      <FEED source="//scs#coreDescs"/>
      <condDesc buildFrom="vmag"/>
    </scsCore>
  </service>
</resource>
